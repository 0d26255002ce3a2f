"""Conditions on every way, against all ways tried out one by one.

Small random trees; each way through one is walked with the set of conditions that hold on it,
until no stop is come to with a set it had not been come to with before. What the analysis says
must be what those sets have in common, and what is in any of them.
"""

from __future__ import annotations

from demos import DEMOS
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from test_lint import load

from treewright.model.nodes import Check, Fault, Node, Reading, Step, ways_of
from treewright.model.tree import Tree
from treewright.reason.setup import Holding, Move, Setup, setup

State = frozenset[str]
CONDITIONS = ("wet", "hot", "open")
NODES = ("c0", "c1", "c2", "s0", "s1", "f0", "f1")


def tree_of(text: str) -> Tree:
    loaded = load("tree t: T\n" + text)
    assert loaded.findings == (), (loaded.findings, text)
    assert loaded.tree is not None
    return loaded.tree


# ---- walking every way ------------------------------------------------------------------------


class Walk:
    """All sets of conditions with which each node is come to."""

    def __init__(
        self, tree: Tree, kept: dict[str, State], first: dict[str, State] | None = None
    ) -> None:
        self.tree, self.kept, self.first = tree, kept, first  # first: None: no retest is taken
        self.come: dict[str, set[State]] = {}
        self.todo: list[tuple[str, State]] = []
        self.led: dict[str, set[str]] = {}
        for node in tree.nodes.values():
            for _, way in ways_of(node):
                if way.target is not None:
                    self.led.setdefault(way.target.name, set()).add(node.name)
        seen: set[tuple[str, State]] = set()
        for symptom in tree.symptoms.values():
            if symptom.start is not None:
                self.todo.append((symptom.start.name, frozenset()))
        while self.todo:
            at = self.todo.pop()
            if at not in seen:
                seen.add(at)
                self.note(*at)
                self.walk(tree.nodes[at[0]], at[1])

    def note(self, name: str, state: State) -> None:
        self.come.setdefault(name, set()).add(state)

    def excluded(self, name: str) -> State:
        conditions = self.tree.conditions
        mine = {str(other) for other in conditions[name].excludes}
        return frozenset(mine | {c.name for c in conditions.values()
                                 if name in map(str, c.excludes)})  # fmt: skip

    def set_up(self, name: str, state: State) -> State:
        return state if name in state else (state - self.excluded(name)) | {name}

    def deal(self, node: Node, state: State) -> State:
        for need in node.needs:
            state = self.set_up(str(need), state)
        if isinstance(node, Step):
            for name in node.sets:
                state = self.set_up(str(name), state)
            state -= set(map(str, node.clears))
        return state

    def do(self, name: str, state: State) -> State:
        if name in self.tree.nodes:
            self.note(name, state)
            return self.deal(self.tree.nodes[name], state)
        for condition in self.tree.conditions.values():
            if str(condition.undo_by) == name:
                state -= {condition.name}
        for condition in self.tree.conditions.values():
            if str(condition.set_up_by) == name:
                state = self.set_up(condition.name, state)
        return state

    def walk(self, node: Node, state: State) -> None:
        after = self.deal(node, state)
        for _, way in ways_of(node):
            on = after
            for name in way.does:
                on = self.do(str(name), on)
            if way.target is not None:
                self.todo.append((way.target.name, on))
        if isinstance(node, Fault) and self.first is not None:
            back = [str(node.retest)] if node.retest else sorted(self.led[node.name])
            for name in back:
                check = self.tree.nodes[name]
                if isinstance(check, Check | Reading):
                    self.todo.append((name, self.retest(node, check, after)))

    def retest(self, fault: Node, check: Node, after: State) -> State:
        """What the remedy alone needed is undone, and what cannot have been the first time."""
        assert self.first is not None
        lasting = {c.name for c in self.tree.conditions.values() if c.undo_by is None}
        kept = self.kept[fault.name] & self.first.get(check.name, self.kept[fault.name])
        return after & (kept | set(map(str, check.needs)) | lasting)


def kept_by(found: Setup) -> dict[str, State]:
    return {name: held.maybe for name, held in found.arrival.items()}


def test_against_every_way_of(text: str = "") -> None:
    agrees(tree_of(text or SMALL), text)


def agrees(tree: Tree, text: str = "") -> None:
    found = setup(tree)
    first = {
        name: frozenset[str]().union(*states) for name, states in Walk(tree, {}).come.items()
    }
    assert found.first == first
    walk = Walk(tree, kept_by(found), first)
    assert set(found.arrival) == set(walk.come)
    for name, states in walk.come.items():
        assert found.arrival[name].maybe == frozenset().union(*states), (name, text)
        assert found.arrival[name].surely == frozenset.intersection(*states), (name, text)


SMALL = """
condition hot: Hot
  set up by: heat
  excludes: wet

condition wet: Wet
  set up by: soak
  undo by: dry

procedure heat: Heat
  - Do it.

procedure soak: Soak
  - Do it.

procedure dry: Dry
  - Do it.

symptom s: S
  start at: c0

check c0: C0
  if a: do soak, then go c1
  if b: go c1
  if c: found f0

check c1: C1
  needs: hot
  if a: do s0, then back to c0
  if b: found f0

step s0: S0
  clears: hot

fault f0: F0
  needs: wet
  remedy: R
"""


@st.composite
def trees(draw: st.DrawFn, undo: bool = True) -> str:
    names = st.sampled_from
    some = st.lists(st.sampled_from(CONDITIONS), max_size=2, unique=True)
    lines = [f"\nsymptom y{n}: Y\n  start at: {draw(names(NODES[:5]))}"
             for n in range(draw(st.integers(1, 2)))]  # fmt: skip
    for condition in CONDITIONS:
        lines.append(f"\ncondition {condition}: C\n  set up by: set-{condition}")
        if undo and draw(st.booleans()):
            lines.append(f"  undo by: undo-{condition}")
        others = [c for c in CONDITIONS if c != condition]
        if draw(st.booleans()):
            lines.append(f"  excludes: {draw(names(others))}")
        lines.append(f"\nprocedure set-{condition}: P\n  - Do it.")
        lines.append(f"\nprocedure undo-{condition}: P\n  - Do it.")
    does = st.sampled_from(
        [*NODES[3:5], *(f"{verb}-{c}" for verb in ("set", "undo") for c in CONDITIONS)]
    )

    def way() -> str:
        first = "".join(f"do {one}, then " for one in draw(st.lists(does, max_size=2)))
        target = draw(names(NODES))
        return first + ("found " if target[0] == "f" else "go ") + target

    def listed(key: str) -> list[str]:
        chosen = draw(some)
        return [f"  {key}: {', '.join(chosen)}"] if chosen else []

    for node in NODES:
        if node[0] == "c":
            lines += [f"\ncheck {node}: C", *listed("needs")]
            lines += [f"  if {n}: {way()}" for n in range(draw(st.integers(1, 3)))]
        elif node[0] == "s":
            lines += [f"\nstep {node}: S", *listed("needs"), *listed("sets"), *listed("clears")]
            lines += [f"  then: {way()}"] if draw(st.booleans()) else []
        else:
            lines += [f"\nfault {node}: F", *listed("needs")]
            lines += [f"  retest: {draw(names(NODES[:3]))}"] if draw(st.booleans()) else []
    return "\n".join(lines) + "\n"


def assume_it_can_be(text: str) -> None:
    """No node needs two conditions that exclude each other: that is a finding of its own."""
    tree = load("tree t: T\n" + text).tree
    assert tree is not None
    clash = {(a, b.name) for a, one in tree.conditions.items() for b in one.excludes}
    for node in tree.nodes.values():
        needs = [need.name for need in node.needs]
        assume(not any((a, b) in clash for a in needs for b in needs))


@settings(max_examples=250, deadline=None)
@given(trees(undo=False))
def test_random_trees_without_undoing(text: str) -> None:
    assume_it_can_be(text)
    test_against_every_way_of(text)


@settings(max_examples=250, deadline=None)
@given(trees())
def test_random_trees(text: str) -> None:
    assume_it_can_be(text)
    test_against_every_way_of(text)


@settings(max_examples=150, deadline=None)
@given(trees())
def test_set_up_and_what_follows_fit_the_arrival(text: str) -> None:
    assume_it_can_be(text)
    tree = tree_of(text)
    found = setup(tree)
    for name, held in found.arrival.items():
        assert held.surely <= held.maybe
        needs = {str(need) for need in tree.nodes[name].needs}
        moves = found.moves[name]
        set_up = [move for move in moves if not move.undo]
        assert {move.condition for move in set_up} >= needs - held.surely
        for move in moves:
            if move.undo:
                assert move.condition in held.maybe
                assert move.always == (move.condition in held.surely)
            assert tree.conditions[move.condition].undo_by is not None or not move.undo
        assert found.during[name].surely <= found.during[name].maybe
        for move in found.takedown.get(name, ()):
            assert move.undo
            assert tree.conditions[move.condition].undo_by is not None


# ---- by hand ----------------------------------------------------------------------------------


def test_set_up_always_never_or_where_it_is_not_done() -> None:
    found = setup(tree_of("""
condition wet: Wet
  set up by: soak

procedure soak: Soak
  - Do it.

symptom s: S
  start at: a

check a: A
  if x: go b
  if y: go c

check b: B
  needs: wet
  if x: go c
  if y: go d

check c: C
  needs: wet
  if x: go d
  if y: go d

check d: D
  needs: wet
  if x: back to a
  if y: back to a
"""))
    assert found.moves["b"] == (Move("wet", False, False),)  # on the way back from d it is done
    assert found.moves["c"] == (Move("wet", False, False),)
    assert found.moves["d"] == ()
    assert found.arrival["a"] == Holding(frozenset(), frozenset({"wet"}))


def test_a_condition_that_excludes_a_needed_one_is_undone_first() -> None:
    found = setup(tree_of("""
condition locked: Locked
  set up by: lock
  undo by: unlock

condition running: Running
  set up by: start
  excludes: locked

procedure lock: Lock
  - Do it.

procedure unlock: Unlock
  - Do it.

procedure start: Start
  - Do it.

symptom s: S
  start at: a

check a: A
  needs: locked
  if x: go b
  if y: go b

check b: B
  needs: running
  if x: found f
  if y: found f

fault f: F
  needs: locked
  remedy: R
"""))
    # At the retest it is not locked any more, so not always.
    assert found.moves["b"] == (Move("locked", True, False), Move("running", False, True))
    assert found.moves["f"] == (Move("locked", False, True),)
    assert found.takedown["f"] == (Move("locked", True, True),)
    assert "locked" not in found.leaving["f"].maybe


def test_a_step_done_on_the_way_does_not_go_its_own_way() -> None:
    found = setup(tree_of("""
condition wet: Wet
  set up by: soak

procedure soak: Soak
  - Do it.

symptom s: S
  start at: a

check a: A
  if x: do fill, then go b
  if y: go b

step fill: Fill
  sets: wet
  then: go c

check b: B
  if x: go a
  if y: go a

check c: C
  if x: go a
  if y: go a
"""))
    assert "c" not in found.arrival
    assert found.arrival["b"] == Holding(frozenset(), frozenset({"wet"}))


def test_demo_trees_leave_nothing_unsaid(tmp_path: object) -> None:
    """On the shipped trees the walk and the analysis agree, too."""

    from treewright.project import Project

    for path in DEMOS:
        tree = Project().load(path).tree
        assert tree is not None
        agrees(tree, path.stem)


def test_a_retest_is_taken_as_the_check_was_the_first_time() -> None:
    """Propped for a later check, and then pulled back up: nothing can sink while it is propped."""
    found = setup(tree_of("""
condition propped: Propped
  set up by: prop
  undo by: clear-prop

condition unplugged: Plug pulled
  set up by: pull
  undo by: push

procedure prop: P
  - Do it.

procedure clear-prop: P
  - Do it.

procedure pull: P
  - Do it.

procedure push: P
  - Do it.

symptom y: Y
  start at: sink

check sink: S
  if x: go valve
  if y: found dry

check valve: V
  needs: propped
  if x: found leak
  if y: found stuck

fault leak: L
  needs: unplugged
  remedy: R
  retest: sink

fault stuck: K
  needs: unplugged
  remedy: R
  retest: valve

fault dry: D
  remedy: R
  retest: valve
"""))
    assert found.first["sink"] == frozenset()
    assert found.takedown["leak"] == (Move("unplugged", True, True), Move("propped", True, True))
    assert "propped" not in found.arrival["sink"].maybe
    # What the check itself needs stays.
    assert found.takedown["stuck"] == (Move("unplugged", True, True),)
    assert found.takedown["dry"] == ()
