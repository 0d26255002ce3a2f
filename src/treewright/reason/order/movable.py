"""Which checks could be taken ahead of others in the author's tree, going by more than minutes.

What guards the work, sets it up, goes deeper, brings a hazard or has to come first stays where
it is. Whether a move saves anything is not asked here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from treewright.model.graph import Arc, Graph
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Hazard, Tree
from treewright.reason.order.author import End, Followed, Taken
from treewright.reason.order.from_tree import Question
from treewright.record import record


@record
class AuthorsOrder:
    """The author's order for one symptom, followed: what a move is weighed by."""

    symptom: str
    question: Question
    followed: Followed


@record
class Move:
    """`then` in front of `first`; `between`: all that stood in front of it from there, `first`
    among them. `on`: the place of the answer of `then` that leads on to `first`."""

    first: str
    then: str
    on: int
    between: tuple[str, ...]

    @property
    def swap(self) -> bool:
        """Whether the two are neighbours."""
        return len(self.between) == 1


def number_of(question: Question) -> dict[str, int]:
    """The checks of a question by name."""
    return {probe.name: at for at, probe in enumerate(question.instance.probes)}


def on_the_way(end: End, first: int, then: int) -> tuple[Taken | None, Taken | None]:
    """Where a way passes two checks, the second behind the first."""
    way = iter(end.way)
    one = next((taken for taken in way if taken.check == first), None)
    return one, next((taken for taken in way if taken.check == then), None)


class Movable:
    """Finds the moves that nothing but minutes could speak against."""

    def __init__(self, tree: Tree, ways: Graph, asked: Sequence[AuthorsOrder]) -> None:
        self.tree, self.ways, self.asked = tree, ways, asked
        self.rungs = {name: at for at, name in enumerate(tree.access)}
        self.shown = self._shown()

    def _shown(self) -> dict[str, set[int]]:
        """By check the answers that some fault gives on some way."""
        found: dict[str, set[int]] = {}
        for one in self.asked:
            probes = one.question.instance.probes
            for ends in one.followed.ends.values():
                for end in ends:
                    for taken in end.way:
                        found.setdefault(probes[taken.check].name, set()).add(taken.answer)
        return found

    def all(self, swaps_only: bool) -> Iterator[Move]:
        """The moves that can be made, by the place of the check that moves."""
        for name in self.tree.nodes:
            if name not in self.shown:
                continue
            for first in self._firsts(name, swaps_only):
                between = self._between(first, name)
                if between is None or (swaps_only and len(between) > 1):
                    continue
                if not self._fits(name, between):
                    continue
                on = self._on(first, name, between)
                if on is not None and not self._passes_by(name, on, between):
                    yield Move(first, name, on, tuple(between))

    def _firsts(self, then: str, swaps_only: bool) -> list[str]:
        """What a check could be moved in front of: its neighbours, and where symptoms start."""
        arcs = self.ways.arcs_into(then)
        found = [arc.source for arc in arcs if arc.source in self.shown and arc.source != then]
        if not swaps_only:
            starts = [symptom.start for symptom in self.tree.symptoms.values()]
            found += [one.name for one in starts if one and one.name in self.shown]
        return [name for name in dict.fromkeys(found) if name != then]

    def _between(self, first: str, then: str) -> list[str] | None:
        """All checks in front of one, back to another that every way there passes.

        None where there is more than checks, where a way leads past the first one, comes back
        from behind, or has something done.
        """
        found: dict[str, None] = {}
        todo = [then]
        while todo:
            for arc in self._into(todo.pop()):
                source = arc.source
                if arc.way_kind == "back" or arc.does or source == then:
                    return None
                if source not in self.shown:  # a step, a symptom, or what no fault comes to
                    return None
                if source not in found:
                    found[source] = None
                    todo += [source] if source != first else []
        if first not in found or any(
            arc.source in found or arc.source == then or arc.way_kind == "back"
            for arc in self._into(first)
        ):
            return None
        return list(found)

    def _into(self, name: str) -> list[Arc]:
        """The ways to a node, but for retests and for what leads from it to itself."""
        arcs = self.ways.arcs_into(name)
        return [arc for arc in arcs if arc.way_kind != "retest" and arc.source != name]

    def _fits(self, then: str, between: list[str]) -> bool:
        """Whether nothing but minutes speaks against a check in front of others."""
        node = self._check(then)
        ahead = [self._check(name) for name in between]
        if any(self._guards(one, {*between, then}) for one in ahead):
            return False
        mine, least = self._rung(node), min(map(self._rung, ahead))
        people = max(one.cost.people or 1 for one in ahead)
        return (
            mine <= least
            and not self._comes_first(between, then)
            and not any(
                name.name in (then, *between)
                for one in (node, *ahead)
                if (name := one.same_as) is not None
            )
            and not any(self._brings(hazard, node, ahead) for hazard in self.tree.hazards.values())
            and (node.cost.people or 1) <= people
            and not (node.cost.licence and not any(one.cost.licence for one in ahead))
            and not (node.cost.parts and not any(one.cost.parts for one in ahead))
        )

    def _check(self, name: str) -> Check | Reading:
        node = self.tree.nodes[name]
        assert isinstance(node, Check | Reading)
        return node

    def _rung(self, node: Check | Reading) -> int:
        return self.rungs.get(node.cost.access.name, 0) if node.cost.access else 0

    def _guards(self, node: Check | Reading, inside: set[str]) -> bool:
        """Whether an answer hands the job over, ends it or has something done first; or no
        fault gives it and it does not lead to one."""
        for arc in self.ways.arcs_from(node.name):
            target = self.tree.nodes.get(arc.target)
            if arc.target in inside and arc.target != node.name:
                continue
            if arc.does or not isinstance(target, Check | Reading | Fault):
                return True
            shown = {node.outcomes[at].label for at in self.shown[node.name]}
            if arc.answer not in shown and not isinstance(target, Fault):
                return True
        return False

    def _comes_first(self, between: list[str], then: str) -> bool:
        """Whether one of those must come before a check, at one remove or more."""
        todo, seen = list(between), set(between)
        for name in todo:  # grows while it is walked
            node = self.tree.nodes[name]
            for later in node.before if isinstance(node, Check | Reading) else ():
                if later.name == then:
                    return True
                if later.name not in seen:
                    seen.add(later.name)
                    todo.append(later.name)
        return False

    def _brings(
        self, hazard: Hazard, node: Check | Reading, ahead: Sequence[Check | Reading]
    ) -> bool:
        """Whether a check has a hazard that is not there at each of those anyhow."""

        def there(one: Check | Reading) -> bool:
            needs = {need.name for need in one.needs}
            return any(at.name == one.name for at in hazard.at) or any(
                name.name in needs for name in hazard.whilst
            )

        return there(node) and not all(map(there, ahead))

    def _on(self, first: str, then: str, between: list[str]) -> int | None:
        """The one answer of a check that all faults give that the checks ahead of it find."""
        given: set[int] = set()
        for one in self.asked:
            number = number_of(one.question)
            if first not in number:
                continue
            if then not in number:
                return None
            of, stands_for = one.question.instance, one.question.answers[number[then]]
            for at, suspect in enumerate(of.suspects):
                ends = one.followed.ends[suspect.name]
                ways = [on_the_way(end, number[first], number[then]) for end in ends]
                if any(passed and not reached for passed, reached in ways):
                    for klass, some in enumerate(of.probes[number[then]].gives):
                        given.update(stands_for[klass] if some >> at & 1 else ())
        if len(given) != 1:
            return None
        (on,) = given
        node = self._check(then)
        arcs = [a for a in self.ways.arcs_from(then) if a.answer == node.outcomes[on].label]
        for arc in arcs:
            if arc.does or arc.target in (then, *between):
                return None
        return on if arcs else None

    def _passes_by(self, then: str, on: int, between: list[str]) -> bool:
        """Whether what must come after one of those would be reached past it."""
        later = {name.name for one in between for name in self._check(one).before}
        if not later:
            return False
        kept = self._check(then).outcomes[on].label
        exits = [arc.target for arc in self.ways.arcs_from(then) if arc.answer != kept]
        return bool(later & set(self.ways.reached_from(exits, retests=False)))
