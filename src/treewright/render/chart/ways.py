"""Who leads where: what is drawn in a part of the chart, what leads to it, and what is taken again.

Knows the outline and where its chart is cut; nothing of symbols.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from treewright.record import record
from treewright.render.outline import Exit, Node, Outline, Symptom

_WIDEST_PAGE = 99  # stands for a page not known yet, and is as wide as any that may come


@record
class Part:
    """A part of a chart that is cut.

    Attributes:
        names: of the nodes drawn in it.
        page: the one it stands on.
        pages: the page of every node; None: not known yet, all other parts are elsewhere.
    """

    names: frozenset[str]
    page: int = 0
    pages: Mapping[str, int] | None = None


@dataclass(slots=True)
class Ways:
    """The ways of an outline, looked up once for the chart and all its parts.

    Attributes:
        sources: the nodes that lead to a name.
        done: names of what is done on the way to something else.
        stages: the stage of each node. A fault, hand-off or done stands in the one that all
            ways to it come from, if it is one.
        starts: the symptoms that start at a name.
    """

    outline: Outline
    nodes: dict[str, Node] = field(default_factory=dict)
    sources: dict[str, list[Node]] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)
    stages: dict[str, str | None] = field(default_factory=dict)
    starts: dict[str, list[Symptom]] = field(default_factory=dict)
    _order: dict[str, int] = field(default_factory=dict)
    _back: set[str] = field(default_factory=set)  # a connector circle leads there in any part

    def __post_init__(self) -> None:
        for index, node in enumerate(self.outline.nodes):
            self.nodes[node.name] = node
            self._order[node.name] = index
            for way in ways_on(node):
                self.done.update(way.does)
                if way.target is not None:
                    self.sources.setdefault(way.target, []).append(node)
                    if way.kind == "back":
                        self._back.add(way.target)
        for entry in self.outline.symptoms:
            self.starts.setdefault(entry.start, []).append(entry)
        for node in self.outline.nodes:
            self.stages[node.name] = node.stage
            if node.stage is None:
                origins = {other.stage for other in self.sources.get(node.name, ())}
                self.stages[node.name] = origins.pop() if len(origins) == 1 else None
            self._back.update(again.name for again in self.retests(node))

    def shown(self, part: Part | None) -> tuple[Node, ...]:
        """The nodes drawn in a part, in the outline's order; None: the whole chart."""
        if part is None:
            return self.outline.nodes
        names = sorted(part.names & self.nodes.keys(), key=self._order.__getitem__)
        return tuple(self.nodes[name] for name in names)

    def only_done(self, node: Node) -> bool:
        """A step drawn where it is done on the way, and nowhere else."""
        return (
            node.kind == "step"
            and node.name in self.done
            and node.name not in self.sources
            and node.name not in self.starts
        )

    def entered(self, name: str, part: Part | None) -> bool:
        """Whether a connector circle leads to a node: back, or over from another part."""
        if name in self._back:
            return True
        return part is not None and any(
            other.name not in part.names for other in self.sources.get(name, ())
        )

    def retests(self, node: Node) -> tuple[Node, ...]:
        """What is taken again after this fault's remedy."""
        if node.kind != "fault":
            return ()
        if node.retest is not None:
            return (self.nodes[node.retest],) if node.retest in self.nodes else ()
        sources = self.sources.get(node.name, ())
        return tuple(dict.fromkeys(other for other in sources if other.outcomes))


def elsewhere(name: str, part: Part | None) -> str:
    """ "page 3", where a node is drawn on another page than the part."""
    if part is None or name in part.names:
        return ""
    if part.pages is None:
        return f"page {_WIDEST_PAGE}"
    page = part.pages.get(name, part.page)
    return f"page {page}" if page != part.page else ""


def ways_on(node: Node) -> Iterator[Exit]:
    """All ways on from a node."""
    for outcome in node.outcomes:
        yield outcome.exit
    if node.exit is not None:
        yield node.exit
