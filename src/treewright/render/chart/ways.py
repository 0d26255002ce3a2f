"""Who leads where: what is drawn in a part of the chart, what leads to it, and what is taken again.

Knows the outline and where its chart is cut; nothing of symbols.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from treewright.record import record
from treewright.render.outline import Exit, Node, Outline, Symptom

FEW = 3
"""Ways from stage to stage that are drawn as lines; more would cross the chart and one another."""

FAR = 4
"""Steps in a row that a line may pass; more would make it too long to be followed."""

_WIDEST_PAGE = 99  # stands for a page not known yet, and is as wide as any that may come

Jumps = frozenset[tuple[str, int]]
"""(node, answer) of ways that are pairs of connector circles though both their ends are drawn."""


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
        stages: the stage of each node. A fault, hand-off or done stands in the first one that
            leads to it.
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
                origins = [other.stage for other in self.sources.get(node.name, ())]
                self.stages[node.name] = origins[0] if origins and ends(node) else None
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

    def leaps(self) -> Jumps:
        """The ways that are better not drawn as lines, as far as that shows without a layout.

        Those from stage to stage, where there are more than a few; otherwise those to an earlier
        stage, which would lead upwards. And those that pass many steps of their stage, unless
        all is well.
        """
        place = {stage: at for at, stage in enumerate(dict.fromkeys(self.stages.values()))}
        within: dict[tuple[str, int], str] = {}
        ahead: set[tuple[str, int]] = set()
        behind: set[tuple[str, int]] = set()
        usual: set[tuple[str, int]] = set()
        for node in self.outline.nodes:
            here = place[self.stages[node.name]]
            for answer, way in enumerate(ways_on(node)):
                if way.kind == "back" or way.target not in self.nodes:
                    continue
                there = place[self.stages[way.target]]
                if there == here:
                    within[node.name, answer] = way.target
                    if not node.outcomes or node.outcomes[answer].normal:
                        usual.add((node.name, answer))
                else:
                    (ahead if there > here else behind).add((node.name, answer))
        depth = _depths(self.nodes, within)
        past = {
            way
            for way, target in within.items()
            if depth[target] - depth[way[0]] > FAR and way not in usual
        }
        return frozenset(past | behind | (ahead if len(ahead) > FEW else set()))

    def ends_of(self, jumps: Jumps) -> frozenset[str]:
        """The nodes that some ways lead to."""
        return frozenset(
            target
            for name, answer in jumps
            if (target := tuple(ways_on(self.nodes[name]))[answer].target) is not None
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


def ends(node: Node) -> bool:
    """Whether nothing follows a node."""
    return node.kind in ("fault", "handoff", "done")


def ways_on(node: Node) -> Iterator[Exit]:
    """All ways on from a node."""
    for outcome in node.outcomes:
        yield outcome.exit
    if node.exit is not None:
        yield node.exit


def _depths(names: Iterable[str], ways: Mapping[tuple[str, int], str]) -> dict[str, int]:
    """How many steps, at most, lead to each name; of names in a circle only some are counted."""
    heads: dict[str, list[str]] = {name: [] for name in names}
    waiting = dict.fromkeys(heads, 0)
    for (tail, _), head in ways.items():
        heads[tail].append(head)
        waiting[head] += 1
    depths = dict.fromkeys(heads, 0)
    free = [name for name, count in waiting.items() if not count]
    while free:
        tail = free.pop()
        for head in heads[tail]:
            depths[head] = max(depths[head], depths[tail] + 1)
            waiting[head] -= 1
            if not waiting[head]:
                free.append(head)
    return depths
