"""What is known on the ways through a tree, against all ways of small random trees.

The brute force here knows nothing of bits: a machine in it has a true state of every thing
that is asked (a word; a value at each place), an answer is right where the tests' own judge
(walk.py) says so, and what a step or a remedy puts in doubt may be anything afterwards.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import pairwise, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lint import load, sound
from walk import Given, judge, walk

from treewright.model.graph import Arc, graph
from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.model.tree import Tree
from treewright.reason.held import Held
from treewright.reason.setup import setup
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Stop, Trips
from treewright.reason.ways import Ways, ways

DEPTH = 9  # arcs of a way that the brute force goes; trees are small
MOST = 4000  # ways that it looks at

# ---- random trees ------------------------------------------------------------------------------

FORMS = (  # of a reading: lines and answers; each covers all values once
    ("", ("at most 3 bar", "above 3 bar")),
    ("", ("below 1 bar", "1 to 5 bar", "above 5 bar")),
    ("  spec: 2 to 4 bar\n", ("within", "below", "above")),
    ("", ("below 2 bar or above 4 bar", "otherwise")),
)
PLACED = (
    ("", ("all at most 3 bar", "otherwise")),
    ("", ("any above 3 bar", "otherwise")),
    ("", ("only left above 3 bar", "none above 3 bar", "otherwise")),
    ("  spec: 2 to 4 bar\n", ("all within", "any below", "otherwise")),
)
WORDS: tuple[str, ...] = ("yes", "no", "unsure")


@st.composite
def texts(draw: st.DrawFn, loops: bool = True) -> str:
    """Trees in which things are asked twice, put in doubt, gone round and tested again."""
    count = draw(st.integers(2, 6))
    head = draw(st.sampled_from(("finish", "go on")))
    lines = [f"tree made: Made\n  after remedy: {head}\n\nsymptom a: A\n  start at: n0\n"]
    if draw(st.booleans()):
        lines.append(f"symptom b: B\n  start at: n{draw(st.integers(0, count - 1))}\n")
    kinds = [draw(st.sampled_from(("check", "reading", "placed", "step"))) for _ in range(count)]
    asked = [f"n{at}" for at, kind in enumerate(kinds) if kind != "step"]
    faults = [f"f{at}" for at in range(draw(st.integers(1, 2)))]

    def doubts(or_none: bool) -> str:
        some = draw(st.lists(st.sampled_from(asked), max_size=2, unique=True)) if asked else []
        if some:
            return f"  doubts: {', '.join(some)}\n"
        return "  doubts: none\n" if or_none and draw(st.booleans()) else ""

    def way(at: int) -> str:
        does = draw(st.sampled_from(("", "", "do s, then ")))
        kind = draw(st.integers(0, 9))
        if kind < 2:
            return f"{does}found {draw(st.sampled_from(faults))}"
        if kind == 2 or (at + 1 == count and kind < 8):
            return f"{does}go end"
        if kind > 7 and loops:
            return f"{does}back to n{draw(st.integers(0, at))}"
        return f"{does}go n{draw(st.integers(at + 1, count - 1))}" if at + 1 < count else "go end"

    for at, kind in enumerate(kinds):
        alike = [f"n{i}" for i in range(at) if kinds[i] == kind]
        other = draw(st.sampled_from(alike)) if alike and draw(st.booleans()) else ""
        same = f"  same as: {other}\n" if other else ""
        if kind == "step":
            lines.append(f"step n{at}: N\n{doubts(False)}  then: {way(at)}\n")
            continue
        if kind == "check":
            block, answers = f"check n{at}: N?\n{same}", tuple(WORDS)
        else:
            form, answers = draw(st.sampled_from(FORMS if kind == "reading" else PLACED))
            places = "  at: left, right\n" if kind == "placed" else ""
            block = f"reading n{at}: N\n{same}{places}{form}"
        for answer in answers:
            word = answer if answer == "otherwise" else f"if {answer}"
            block += f"  {word}: {way(at)}\n"
        lines.append(block)
    lines.append(f"step s: S\n{doubts(False)}")
    for fault in faults:
        retest = draw(st.sampled_from(asked)) if asked and draw(st.booleans()) else ""
        line = f"  retest: {retest}\n" if retest else ""
        lines.append(f"fault {fault}: F\n  remedy: R.\n{line}{doubts(True)}")
    lines.append("done end: E")
    return "\n".join(lines) + "\n"


# ---- brute force -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Visit:
    """An arrival: where, for a retest or not, and what each thing asked may still be."""

    node: str
    again: bool
    may_be: dict[str, frozenset[object]] = field(hash=False)
    known: frozenset[str] = frozenset()  # asked and not in doubt since
    stops: tuple[Stop, ...] = ()


class Brute:
    """All ways of a tree, each with all machines that would be led along it."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.arcs = graph(tree)
        self.thing = {
            node.name: self._root(node)
            for node in tree.nodes.values()
            if isinstance(node, Check | Reading)
        }

    def _root(self, node: Check | Reading) -> str:
        while node.same_as is not None:
            other = self.tree.nodes[node.same_as.name]
            assert isinstance(other, Check | Reading)
            node = other
        return node.name

    @cache  # noqa: B019
    def states(self, thing: str) -> frozenset[object]:
        """All that can be the case of a thing: every limit, and values beside it."""
        node = self.tree.nodes[thing]
        if isinstance(node, Check):
            return frozenset(outcome.label for outcome in node.outcomes)
        assert isinstance(node, Reading)
        values = [Fraction(at, 2) for at in range(13)]
        return frozenset(product(values, repeat=len(node.places) or 1))

    @cache  # noqa: B019
    def leads(self, name: str, answer: str) -> frozenset[object]:
        """What must be the case for an answer."""
        node = self.tree.nodes[name]
        if isinstance(node, Check):
            return frozenset({answer})
        assert isinstance(node, Reading)
        at = [outcome.label for outcome in node.outcomes].index(answer)
        places: tuple[str | None, ...] = node.places or (None,)
        return frozenset(
            state
            for state in self.states(self.thing[name])
            if at in judge(node, None, dict(zip(places, state, strict=True)))  # type: ignore[call-overload]
        )

    def answers(self, visit: Visit) -> set[str]:
        """The answers that some machine led here would give."""
        node = self.tree.nodes[visit.node]
        assert isinstance(node, Check | Reading)
        left = visit.may_be[self.thing[visit.node]]
        return {o.label for o in node.outcomes if left & self.leads(visit.node, o.label)}

    def onward(self, visit: Visit) -> Iterator[tuple[Arc, Visit]]:
        node = self.tree.nodes[visit.node]
        if isinstance(node, Fault):
            yield from self._retest(node, visit)
            return
        for arc in self.arcs.arcs_from(visit.node):
            may_be, known = dict(visit.may_be), visit.known
            does = arc.does
            if isinstance(node, Check | Reading):
                at = [outcome.label for outcome in node.outcomes].index(arc.answer)
                if visit.again and at in node.normal and self.tree.after_remedy == "finish":
                    continue
                thing = self.thing[node.name]
                may_be[thing] &= self.leads(node.name, arc.answer)
                known |= {thing}
                if not may_be[thing]:
                    continue
            else:
                does = (node.name, *does)
            for name in does:
                step = self.tree.nodes[name]
                assert isinstance(step, Step)
                for doubt in step.doubts or ():
                    may_be[self.thing[doubt.name]] = self.states(self.thing[doubt.name])
                    known -= {self.thing[doubt.name]}
            stops = (*visit.stops, Stop(arc.source, arc.answer))
            yield arc, Visit(arc.target, False, may_be, known, stops)

    def _retest(self, fault: Fault, visit: Visit) -> Iterator[tuple[Arc, Visit]]:
        may_be, known = dict(visit.may_be), visit.known
        things = set(may_be) if fault.doubts is None else {
            self.thing[name.name] for name in fault.doubts
        }  # fmt: skip
        for thing in things:
            may_be[thing] = self.states(thing)
        asked = [s.node for s in visit.stops if s.node in self.thing]
        check = fault.retest.name if fault.retest else asked[-1] if asked else None
        if check is not None:
            arc = Arc(fault.name, "retest", check, "retest", (), fault.span)
            stops = (*visit.stops, Stop(fault.name, "retest"))
            yield arc, Visit(check, True, may_be, known - things, stops)

    def visits(self) -> Iterator[tuple[Arc | None, Visit, Visit | None]]:
        """All arrivals, breadth first, each with the arc and where it comes from."""
        start = {thing: self.states(thing) for thing in set(self.thing.values())}
        queue: deque[tuple[Arc | None, Visit, Visit | None]] = deque()
        for symptom in self.tree.symptoms.values():
            assert symptom.start is not None
            stops = (Stop(f"symptom {symptom.name}", ""),)
            queue.append((None, Visit(symptom.start.name, False, start, stops=stops), None))
        seen = 0
        while queue and seen < MOST:
            seen += 1
            came = queue.popleft()
            yield came
            if len(came[1].stops) < DEPTH:
                queue += ((arc, visit, came[1]) for arc, visit in self.onward(came[1]))


def is_asked(tree: Tree, name: str) -> bool:
    return isinstance(tree.nodes[name], Check | Reading)


# ---- never too much is known -------------------------------------------------------------------


@settings(max_examples=150, deadline=None)
@given(texts())
def test_no_machine_is_led_where_it_is_said_that_none_is(text: str) -> None:
    tree = sound(text)
    known, brute = ways(tree, graph(tree)), Brute(tree)
    for arc, visit, before in brute.visits():
        place = visit.node, visit.again
        assert place in known.arrival
        assert known.reached(visit.node)
        if not is_asked(tree, visit.node):
            continue
        answers = brute.answers(visit)
        node = tree.nodes[visit.node]
        assert isinstance(node, Check | Reading)
        labels = [outcome.label for outcome in node.outcomes]
        if visit.node in known.facts:
            possible = known.facts[visit.node].possible(visit.node, known.arrival[place])
            assert answers <= {labels[at] for at in possible}
        settled = known.settled(visit.node)
        if settled is not None and not visit.again:
            assert answers == {labels[settled]}
        if not visit.again:
            assert not answers & {labels[at] for at in known.never(visit.node)}
        if arc is not None and arc.way_kind == "retest":
            only = known.settled_by(arc)
            assert only is None or answers == {labels[only]}
        if arc is not None and arc.way_kind == "back" and before is not None:
            thing = brute.thing[visit.node]
            passed = any(brute.thing.get(stop.node) == thing for stop in visit.stops)
            # A way that came by a retest is none of those gone round.
            retested = any(stop.answer == "retest" for stop in visit.stops)
            if passed and not retested and known.still_known(arc):
                assert thing in visit.known


@settings(max_examples=80, deadline=None)
@given(texts(loops=False))
def test_what_is_known_is_what_all_ways_agree_on(text: str) -> None:
    """Where there is no way round, the ways can be listed: the bits of each are folded."""
    tree = sound(text)
    known = ways(tree, graph(tree))
    agreed: dict[str, int] = {}
    queue = deque((vertex, 0) for vertex in known.graph.entries)
    while queue:
        vertex, bits = queue.popleft()
        agreed[vertex] = agreed.get(vertex, bits) & bits
        if isinstance(tree.nodes.get(vertex), Fault):
            continue
        for arc in known.arcs((vertex, False)):
            if known.after(arc, known.arrival[vertex, False]) is None:
                continue
            fact = known.facts.get(arc.source)
            if fact is None:
                queue.append((arc.target, known.done((arc.source, *arc.does), bits)))
                continue
            node = tree.nodes[arc.source]
            assert isinstance(node, Check | Reading)
            at = [outcome.label for outcome in node.outcomes].index(arc.answer)
            ruled_out = bits | fact.rules_out(arc.source, at)
            queue.append((arc.target, known.done(arc.does, ruled_out)))
    for vertex, bits in agreed.items():
        if not _retested(tree, vertex):
            assert known.arrival[vertex, False] == bits


def _retested(tree: Tree, vertex: str) -> bool:
    """Whether a retest may lead to a vertex, at last: then more ways lead there."""
    arcs = graph(tree)
    starts = [
        arc.target
        for name, node in tree.nodes.items()
        if isinstance(node, Fault)
        for arc in Ways(tree, arcs).retests(name)
    ]
    return vertex in arcs.reached_from(starts)


@settings(max_examples=60, deadline=None)
@given(texts(loops=False))
def test_with_words_alone_nothing_that_can_be_known_is_missed(text: str) -> None:
    """A check's answer is one bit, so that the first answers of a symptom are known exactly."""
    tree = sound(text)
    known, brute = ways(tree, graph(tree)), Brute(tree)
    for _, visit, _ in brute.visits():
        node = tree.nodes[visit.node]
        if isinstance(node, Check) and visit.node in known.facts:
            bits = 0
            for arc in _arcs(tree, visit.stops, visit.node):
                after = known.after(arc, bits)
                assert after is not None
                bits = after
            labels = [outcome.label for outcome in node.outcomes]
            possible = known.facts[visit.node].possible(visit.node, bits)
            assert {labels[at] for at in possible} == brute.answers(visit)


def _arcs(tree: Tree, stops: tuple[Stop, ...], end: str) -> list[Arc]:
    """The arcs of a way from the symptom, retests among them."""
    arcs, known = graph(tree), Ways(tree, graph(tree))
    found = []
    for stop, after in zip(stops, (*(s.node for s in stops[1:]), end), strict=True):
        fault = isinstance(tree.nodes.get(stop.node), Fault)
        some = known.retests(stop.node) if fault else arcs.arcs_from(stop.node)
        found += [a for a in some if a.answer == stop.answer and a.target == after][:1]
    assert len(found) == len(stops)
    return found


@pytest.mark.parametrize("one", PLACED)
@pytest.mark.parametrize("other", PLACED)
def test_answers_at_several_places_agree_where_a_machine_gives_both(
    one: tuple[str, tuple[str, ...]], other: tuple[str, tuple[str, ...]]
) -> None:
    text = "tree made: Made\nsymptom a: A\n  start at: n0\n"
    for at, (form, answers) in enumerate((one, other, other)):
        same = "  same as: n0\n" if at else ""
        text += f"reading n{at}: N\n  at: left, right\n{same}{form}"
        for answer in answers:
            text += f"  {answer if answer == 'otherwise' else f'if {answer}'}: go n{at + 1}\n"
    tree = sound(text + "done n3: E\n")
    fact, brute = ways(tree, graph(tree)).facts["n0"], Brute(tree)
    names = ("n0", "n1", "n2")
    for both in product(*(enumerate(answers) for _, answers in (one, other, other))):
        answered = [(name, at) for name, (at, _) in zip(names, both, strict=True)]
        led = [brute.leads(name, label) for name, (_, label) in zip(names, both, strict=True)]
        assert fact.agree(frozenset(answered)) == bool(led[0] & led[1] & led[2])
        bits = fact.rules_out(*answered[0]) | fact.rules_out(*answered[1])
        left = led[0] & led[1]
        may = {at for at, label in enumerate(other[1]) if left & brute.leads("n2", label)}
        assert not left or may <= set(fact.possible("n2", bits))


@pytest.mark.parametrize(
    ("answer", "never"),
    [
        ("all at most 3 bar", {"any above 3 bar", "only left above 3 bar"}),
        ("none above 3 bar", {"any above 3 bar", "only left above 3 bar"}),
        ("only left above 3 bar", {"all at most 3 bar", "none above 3 bar"}),
        ("only right at most 3 bar", {"all at most 3 bar", "none above 3 bar"}),
    ],
)
def test_what_each_place_rules_out_is_known(answer: str, never: set[str]) -> None:
    text = f"""\
tree made: Made
symptom a: A
  start at: one
reading one: One
  at: left, right
  if {answer}: go two
  otherwise: stop h
reading two: Two
  at: left, right
  same as: one
  if all at most 3 bar: go end
  if none above 3 bar: go end
  if only left above 3 bar: go end
  if any above 3 bar: go end
  otherwise: go end
handoff h: H
done end: E
"""
    known = made_ways(text)
    node = known.tree.nodes["two"]
    assert isinstance(node, Reading)
    gone = {node.outcomes[at].label for at in known.never("two")}
    assert gone - {"otherwise"} == never


# ---- the ways that are shown -------------------------------------------------------------------


class Arrived(Exception):
    """The walk asks what no answer is left for."""


def walked(tree: Tree, stops: tuple[Stop, ...]) -> str:
    """Where the tests' interpreter stands once it gave the answers of a way."""
    answers = [stop for stop in stops[:-1] if is_asked_stop(tree, stop)]
    asked: list[str] = []

    def given(node: Check | Reading, time: int) -> int:
        asked.append(node.name)
        if not answers:
            raise Arrived
        stop = answers.pop(0)
        assert stop.node == node.name
        return [outcome.label for outcome in node.outcomes].index(stop.answer)

    remedies = any(stop.answer == "retest" for stop in stops)
    told: Given = given
    try:
        job = walk(tree, stops[0].node.removeprefix("symptom "), told, remedies=remedies)
    except Arrived:
        return asked[-1]
    assert not answers
    return job.end


def is_asked_stop(tree: Tree, stop: Stop) -> bool:
    return stop.node in tree.nodes and is_asked(tree, stop.node)


@settings(max_examples=150, deadline=None)
@given(texts())
def test_a_shown_way_can_be_taken_and_none_is_shorter(text: str) -> None:
    tree = sound(text)
    trips, brute = Trips(ways(tree, graph(tree))), Brute(tree)
    first: dict[str, Visit] = {}
    for _, visit, _ in brute.visits():
        first.setdefault(visit.node, visit)
        plain = any(stop.answer == "retest" for stop in first[visit.node].stops)
        if plain and not any(stop.answer == "retest" for stop in visit.stops):
            first[visit.node] = visit  # the shortest of those without a retest
    for name in tree.nodes:
        stops = trips.to(name)
        if name == "s":
            continue
        if name in first:
            assert stops, "a machine gets there"
            retest = any(stop.answer == "retest" for stop in first[name].stops)
            if not retest:
                assert len(stops) == len(first[name].stops) + 1
        if not stops:
            continue
        assert stops[-1] == Stop(name, "")
        assert_can_be_taken(brute, stops)
        node = tree.nodes[name]
        if not isinstance(node, Step | Fault):
            assert walked(tree, stops) == name


def assert_can_be_taken(brute: Brute, stops: tuple[Stop, ...]) -> None:
    """That some machine is led along a way."""
    start = {thing: brute.states(thing) for thing in set(brute.thing.values())}
    symptom = brute.tree.symptoms[stops[0].node.removeprefix("symptom ")]
    assert symptom.start is not None and symptom.start.name == stops[1].node
    now = [Visit(stops[1].node, False, start, stops=stops[:1])]
    for stop, after in pairwise(stops[1:]):
        now = [
            visit
            for one in now
            for arc, visit in brute.onward(one)
            if arc.answer == stop.answer and arc.target == after.node
        ]
    assert now


@settings(max_examples=80, deadline=None)
@given(texts())
def test_a_way_round_goes_round(text: str) -> None:
    tree = sound(text)
    known = ways(tree, graph(tree))
    trips, brute = Trips(known), Brute(tree)
    for arc in known.graph.arcs:
        if arc.way_kind == "back" and is_asked(tree, arc.target):
            stops = trips.around(arc)
            if stops:
                assert_can_be_taken(brute, stops)
                assert stops[-2:] == (Stop(arc.source, arc.answer), Stop(arc.target, ""))
                assert any(
                    brute.thing.get(stop.node) == brute.thing[arc.target] for stop in stops[:-1]
                )


# ---- conditions and suspects -------------------------------------------------------------------

CONDITIONS = """\
condition hot: H
  set up by: p
condition fitted: F
  undo by: p
condition locked: L
  set up by: p
  undo by: p
  excludes: hot

procedure p: P
  - Do it.

"""


@st.composite
def texts_with_conditions(draw: st.DrawFn) -> str:
    text = draw(texts())
    names = st.sampled_from((
        (), ("hot",), ("fitted",), ("locked",), ("fitted", "hot"), ("fitted", "locked"),
    ))  # fmt: skip
    blocks = text.split("\n\n")
    made = []
    for block in blocks:
        head, *rest = block.split("\n")
        lines = [head]
        if head.split()[0] in ("check", "reading", "step", "fault") and (some := draw(names)):
            lines.append(f"  needs: {', '.join(some)}")
        if head.startswith("step") and (some := draw(names)):
            lines.append(f"  {draw(st.sampled_from(('sets', 'clears')))}: {', '.join(some)}")
        made.append("\n".join([*lines, *rest]))
    return "\n\n".join([made[0], CONDITIONS, *made[1:]])


@settings(max_examples=80, deadline=None)
@given(texts_with_conditions())
def test_a_condition_followed_along_each_way_is_what_is_set_up_on_all(text: str) -> None:
    tree = sound(text)
    known, whole = ways(tree, graph(tree)), setup(tree)
    for condition in tree.conditions.values():
        held = Held(tree, whole, condition)
        seen = {(vertex, False, "") for vertex in known.graph.entries}
        queue = deque(seen)
        while queue:
            vertex, holds, led_by = queue.popleft()
            fault = tree.nodes.get(vertex)
            led_by = vertex if vertex in tree.nodes and is_asked(tree, vertex) else led_by
            if vertex in tree.nodes:
                arrival = whole.arrival[vertex]
                assert condition.name in arrival.maybe or not holds
                assert condition.name not in arrival.surely or holds
            for arc in known.graph.arcs_from(vertex):
                if isinstance(fault, Fault) and not fault.retest and arc.target != led_by:
                    continue  # its retest is the check that led here
                state = arc.target, held.along(arc, holds), led_by
                if state not in seen:
                    seen.add(state)
                    queue.append(state)


@settings(max_examples=80, deadline=None)
@given(texts(), st.data())
def test_a_fault_stays_open_wherever_it_leads(text: str, data: st.DataObject) -> None:
    tree = sound(text)
    checks = [n for n in tree.nodes.values() if isinstance(n, Check | Reading)]
    for fault in [n.name for n in tree.nodes.values() if isinstance(n, Fault)]:
        shows = [
            f"{data.draw(st.sampled_from(('', 'maybe ')))}{node.name} "
            f"{data.draw(st.sampled_from([o.label for o in node.outcomes]))}"
            for node in data.draw(st.lists(st.sampled_from(checks), unique_by=id, max_size=3))
        ] if checks else []  # fmt: skip
        if shows:
            head = f"fault {fault}: F\n"
            text = text.replace(head, f"{head}  shows: {', '.join(shows)}\n")
    tree = sound(text)
    suspects = Suspects(tree, graph(tree))
    for node in tree.nodes.values():
        if isinstance(node, Fault):
            for symptom in tree.symptoms.values():
                assert symptom.start is not None
                assert_open_on_its_way(tree, suspects, node, symptom.start.name)


def assert_open_on_its_way(tree: Tree, suspects: Suspects, fault: Fault, start: str) -> None:
    """Follows what a fault shows; everywhere on that way it must be open."""
    bit = 1 << suspects.ends.index(fault.name)
    queue, seen = [start], {start}
    if not suspects.behind[start] & bit:
        return
    while queue:
        name = queue.pop()
        assert suspects.open[name] & bit
        node = tree.nodes[name]
        if isinstance(node, Step) and node.way and node.way.target:
            onward = [node.way.target.name]
        elif isinstance(node, Check | Reading):
            shown = [one for one in fault.shows if one.node.name == name]
            given = {one.outcome for one in shown}
            if all(one.maybe for one in shown):
                given |= set(node.normal)
            if not fault.shows:
                given = set(range(len(node.outcomes)))
            ways_on = [node.outcomes[at].way for at in given if at is not None]
            onward = [way.target.name for way in ways_on if way.target]
        else:
            onward = []
        queue += set(onward) - seen
        seen.update(onward)


# ---- small trees, checked by hand --------------------------------------------------------------

TWICE = """\
tree made: Made
symptom a: A
  start at: one
check one: One?
  if yes: go two
  if no: go next
check mid: Mid?
  if yes: go two
  if no: found f
check two: Two?
  same as: one
  if yes: go end
  if no: found f
fault f: F
  remedy: R.
done end: E
"""


def made_ways(text: str) -> Ways:
    tree = sound(text)
    return ways(tree, graph(tree))


def test_two_ways_that_found_otherwise_settle_nothing() -> None:
    known = made_ways(TWICE)
    assert known.settled("two") is None
    assert known.never("two") == ()


def test_one_way_settles_what_it_found() -> None:
    known = made_ways(TWICE.replace("  if no: go next\n", "  if no: found f\n"))
    assert known.settled("two") == 0


def test_a_shown_way_minds_what_was_found() -> None:
    """The shortest way to `f` by `two` would be yes, then no; the machine does not do that."""
    last = "check last: L?\n  if yes: go end\n  if no: found f\n"
    text = TWICE.replace("  if no: found f\nfault", f"  if no: go last\n{last}fault")
    stops = Trips(made_ways(text)).to("last")
    assert [(stop.node, stop.answer) for stop in stops] == [
        ("symptom a", ""), ("one", "no"), ("mid", "yes"), ("two", "no"), ("last", ""),
    ]  # fmt: skip


def test_a_doubt_makes_it_open_again() -> None:
    text = TWICE.replace("if yes: go two", "if yes: do s, then go two", 1)
    text = text.replace("  if no: go next\n", "  if no: found f\n") + "step s: S\n  doubts: two\n"
    assert made_ways(text).settled("two") is None


@pytest.mark.parametrize(("after", "reached"), [("finish", False), ("go on", True)])
def test_a_good_retest_ends_the_job_or_goes_on(after: str, reached: bool) -> None:
    text = """\
tree made: Made
  after remedy: AFTER
symptom a: A
  start at: one
check one: One?
  if yes: go two
  if no: found f
check two: Two?
  same as: one
  if yes: go end
  if no: go other
fault f: F
  remedy: R.
done end: E
done other: O
""".replace("AFTER", after)
    known = made_ways(text)
    assert ((("two"), False) in known.arrival) is True
    assert known.settled("two") == 0
    assert not known.reached("other")
    assert bool(Trips(known).first(
        lambda seen, arc: seen or arc.way_kind == "retest", False,
        lambda at, seen: at == "two" and bool(seen),
    )) is reached  # fmt: skip


def test_otherwise_is_kept_apart() -> None:
    text = """\
tree made: Made
symptom a: A
  start at: one
reading one: One
  unit: bar
  if 2 to 4: go end
  otherwise: go two
reading two: Two
  same as: one
  unit: kPa
  if below 200: found f
  if 200 to 400: go never
  if above 400: found f
fault f: F
  remedy: R.
done end: E
done never: N
"""
    known = made_ways(text)
    assert known.never("two") == (1,)
    # Once `f` is remedied the retest may find anything; a hand-off has no retest.
    assert known.reached("never")
    text = text.replace("found f", "stop f").replace("fault f: F\n  remedy: R.", "handoff f: F")
    assert not made_ways(text).reached("never")


# ---- how it is written -------------------------------------------------------------------------

LIBRARY = """\
library oil: Oil
check oil-level: Where does it stand?
  if good: go oil-good
  if low: do top-up, then back to oil-level
step top-up: Top up
  doubts: oil-level
done oil-good: Good
"""
WITH_LIBRARY = """\
tree made: Made
use oil.tree
symptom a: A
  start at: level
check level: Level?
  as in: oil.oil-level
  if good: go end
  if low: do top-up, then back to level
done end: E
"""


def test_a_librarys_step_puts_in_doubt_what_is_as_in_its_check(tmp_path: Path) -> None:
    (tmp_path / "oil.tree").write_text(LIBRARY, encoding="utf-8")
    loaded = load(WITH_LIBRARY, folder=tmp_path)
    assert loaded.findings == () and loaded.tree is not None
    step = loaded.tree.nodes["oil.top-up"]
    assert isinstance(step, Step)
    assert [str(name) for name in step.doubts or ()] == ["level"]
    assert "oil.oil-level" not in loaded.tree.nodes


def test_a_step_with_doubts_that_are_not_in_the_tree_doubts_nothing(tmp_path: Path) -> None:
    (tmp_path / "oil.tree").write_text(LIBRARY, encoding="utf-8")
    loaded = load(WITH_LIBRARY.replace("  as in: oil.oil-level\n", ""), folder=tmp_path)
    assert loaded.findings == () and loaded.tree is not None
    step = loaded.tree.nodes["oil.top-up"]
    assert isinstance(step, Step)
    assert step.doubts == ()


def test_a_condition_may_stay_and_then_has_no_undo() -> None:
    tree = sound("""\
tree made: Made
condition hot: Hot
  undo by: none
condition cold: Cold
symptom a: A
  start at: one
check one: One?
  needs: hot, cold
  if yes: go end
  if no: go end
done end: E
""")
    conditions = tree.conditions
    assert [conditions[name].may_stay for name in ("hot", "cold")] == [True, False]
    assert conditions["hot"].undo_by is None


def test_same_as_is_for_the_same_kind() -> None:
    text = TWICE.replace("same as: one", "same as: r") + (
        "reading r: R\n  if below 1 bar: go end\n  if at least 1 bar: go end\n"
    )
    assert [finding.message for finding in load(text).findings] == [
        "`r` is a reading; a check belongs here"
    ]


def test_what_does_not_ask_the_same_after_all_settles_nothing() -> None:
    known = made_ways(TWICE.replace("  if no: go next\n", "  if never: found f\n"))
    assert known.settled("two") is None
    assert "two" not in known.facts
