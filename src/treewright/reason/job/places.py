"""Where a job may stand once a check could not be done: all its answers are open.

So there are several ways at once. They are found by going through the tree with what is known;
ways that meet are one. The same as site/js/places.js works out on the phone.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from treewright.model.nodes import Check, Node, Reading, Step, Way
from treewright.model.tree import Procedure, Tree
from treewright.reason.job.facts import Facts
from treewright.reason.job.frames import Entry
from treewright.record import record

State: TypeAlias = Literal["ask", "do", "undone", "end", "lost"]
"""ask: a check or reading that is due. do: a step or procedure that is. undone: one that was left.
end: a fault, hand-off or clean end. lost: the tree gives no way on."""


@record
class Place:
    """One of the places where a job may stand.

    `via`: the check that led there. `due`: for what is only done on a way, where that goes on;
    `on_request` says that it is such. `procedure`: where no node but a procedure is to be done.
    """

    state: State
    node: Node | None
    via: str | None
    procedure: Procedure | None = None
    due: Node | None = None
    on_request: bool = False


@dataclass(slots=True)
class Open:
    """The outcomes that are open, from a check on.

    `skipped`: checks that could not be done. `done`, `undone`: steps and procedures that were
    done, or left, since.
    """

    root: Node
    skipped: dict[str, None] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)
    undone: set[str] = field(default_factory=set)
    places: tuple[Place, ...] = ()

    def answered(self, tree: Tree, node: Check | Reading, facts: Facts) -> None:
        """A check is answered anew: what was done in answer to it may have to be done again."""
        self.skipped.pop(node.name, None)
        self.done -= {do.name for outcome in node.outcomes for do in outcome.way.does}
        for name in tuple(self.done):
            step = tree.nodes.get(name)
            doubts = (step.doubts or ()) if isinstance(step, Step) else ()
            if node.name in facts.doubted(doubts):
                self.done.discard(name)


@record
class _Todo:
    node: Node | None
    does: tuple[str, ...]
    via: str | None
    depth: int


def find(tree: Tree, model: str | None, opened: Open, known: Mapping[str, Entry]) -> list[Place]:
    """All places where the job may stand, the ways of good answers first.

    Args:
        tree: the tree.
        model: the machine's model.
        opened: what was left out, and done since.
        known: by check, the answer that holds.
    """
    places: dict[tuple[State, str | None], Place] = {}
    seen: set[str] = set()
    path: list[str] = []
    todo = [_Todo(opened.root, (), None, 0)]

    def stop(place: Place) -> None:
        named = place.procedure or place.node
        places.setdefault((place.state, named.name if named else None), place)

    def on(way: Way, via: str | None) -> None:
        target = way.target_on(model)
        node = tree.nodes.get(target.name) if target else None
        todo.append(_Todo(node, tuple(do.name for do in way.does), via, len(path)))

    while todo:
        at = todo.pop()
        node, via = at.node, at.via
        del path[at.depth :]
        first = next((name for name in at.does if name not in opened.done), None)
        if first is not None:
            state: State = "undone" if first in opened.undone else "do"
            step = tree.nodes.get(first)
            stop(Place(state, step, via, None if step else tree.procedures.get(first), node, True))
            continue
        if node is None:
            stop(Place("lost", None, via))
            continue
        if node.name in seen:
            # Round and back to what was answered: it is asked again.
            if node.name in known and node.name in path:
                stop(Place("ask", node, via))
            continue
        seen.add(node.name)
        path.append(node.name)
        match node:
            case Step():
                if node.name not in opened.done:
                    stop(Place("undone" if node.name in opened.undone else "do", node, via))
                elif node.way is not None:
                    on(node.way, via)
                else:
                    stop(Place("lost", None, via))
            case Check() | Reading():
                if node.name in known:
                    answer = known[node.name].answer
                    assert answer is not None
                    on(node.outcomes[answer].way, node.name)
                elif node.name in opened.skipped:
                    for way in reversed(_ways(node, model)):
                        on(way, node.name)
                else:
                    stop(Place("ask", node, via))
            case _:
                stop(Place("end", node, via))
    return list(places.values())


def _ways(node: Check | Reading, model: str | None) -> list[Way]:
    """The good answer's way first. One that only leads back to the check itself opens nothing."""
    order = sorted(range(len(node.outcomes)), key=lambda at: at not in node.normal)
    ways = [node.outcomes[at].way for at in order]
    targets = [way.target_on(model) for way in ways]
    return [
        way
        for way, target in zip(ways, targets, strict=True)
        if target is None or target.name != node.name
    ]
