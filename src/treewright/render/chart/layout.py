"""From plans to drawings: the engine is asked for many graphs at once, and for no more than needed.

A process of the engine costs little beside its layouts, and most layouts are only wanted for
their size: those are asked for without lines, and are not drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from treewright.record import record
from treewright.render.chart import svg
from treewright.render.chart.dot import MANNERS, Manner, source
from treewright.render.chart.engine import (
    ChartError,
    Engine,
    EngineFailure,
    Layout,
    read_layouts,
)
from treewright.render.chart.plan import Planner
from treewright.render.chart.shape import Figure, figure
from treewright.render.chart.symbols import Plan, reworded
from treewright.render.chart.untangle import untangled
from treewright.render.chart.ways import Jumps, Part
from treewright.render.outline import Outline
from treewright.workers import idle_processors

Size = tuple[float, float]
"""Width and height, in the chart's units."""

Laid = tuple[dict[str, Figure], Layout]
"""The symbols at their sizes, and where they stand."""

_HANDS = 2  # engines run side by side, where there is nothing else to do

_ATTEMPTS = 2  # to lay out the whole chart with fewer crossings


@record
class Drawing:
    """An `svg` element and its size."""

    svg: str
    size: Size


class Draughtsman:
    """Plans, measures and draws the chart of one outline, and parts of it."""

    def __init__(
        self, outline: Outline, run: Engine, reword: Callable[[str], str] | None = None
    ) -> None:
        """
        Args:
            outline: the compiled tree.
            run: the engine.
            reword: what every text of the chart passes through; None: it stays as it is.
        """
        self._planner = Planner(outline)
        self._run = run
        self._reword = reword
        self._whole: tuple[Plan, Laid] | None = None

    def plan(self, part: Part | None = None) -> Plan:
        """What is drawn in a part; None: on the whole chart, before it is laid out."""
        return self._planned(part)

    def whole(self) -> tuple[Plan, Laid]:
        """The whole chart, laid out so that few lines cross and none is long without need.

        Ways whose lines would are drawn as pairs of connector circles, and the chart is laid
        out again, as long as that is better.
        """
        if self._whole is None:
            content = self._planned(None)
            laid = lay_out([content], self._run)[0]
            self._whole = content, laid
            if len(laid[1].bands) == len(content.bands):  # drawn in the best manner
                self._untangle(content, laid)
        return self._whole

    def _untangle(self, content: Plan, laid: Laid) -> None:
        tangle, more = untangled(content, laid[1])
        for _ in range(_ATTEMPTS):
            if not more:
                break
            content = self._planned(None, content.jumps | more)
            try:
                laid = _together([content], self._run, MANNERS[0])[0]
            except EngineFailure:
                break
            other, more = untangled(content, laid[1])
            if not other.better_than(tangle):
                break
            tangle, self._whole = other, (content, laid)

    def whole_drawn(self) -> Drawing:
        """The drawing of the whole chart."""
        content, laid = self.whole()
        return self.draw(content, laid)

    def _planned(self, part: Part | None, jumps: Jumps | None = None) -> Plan:
        return self.worded(self._planner.plan(part, jumps))

    def worded(self, content: Plan) -> Plan:
        """A plan in words that can be drawn."""
        return content if self._reword is None else reworded(content, self._reword)

    def measured(self, plans: Sequence[Plan]) -> list[Size]:
        """How large each drawing will be, or nearly: a line may run out beside all symbols."""
        laid = lay_out(plans, self._run, lines=False)
        return [
            svg.size(content, figures, layout)
            for content, (figures, layout) in zip(plans, laid, strict=True)
        ]

    def drawn(self, plans: Sequence[Plan]) -> list[Drawing]:
        """The drawings."""
        return list(map(self.draw, plans, lay_out(plans, self._run)))

    def draw(self, content: Plan, laid: Laid) -> Drawing:
        """The drawing of a plan that was laid out."""
        figures, layout = laid
        size = svg.size(content, figures, layout)
        return Drawing(svg.draw(content, figures, layout), size)


def figures_of(content: Plan) -> dict[str, Figure]:
    """The symbols at their sizes, by key."""
    return {symbol.key: figure(symbol) for symbol in content.symbols}


def lay_out(plans: Sequence[Plan], run: Engine, *, lines: bool = True) -> list[Laid]:
    """The symbols of each plan, laid out in the best manner the engine can do.

    Args:
        plans: what to lay out.
        run: the engine; several are run side by side where there are several plans.
        lines: False: only the places of symbols and bands are wanted.

    Raises:
        ChartError: one of them cannot be laid out.
    """
    manners = MANNERS if lines else tuple(replace(one, splines="none") for one in MANNERS)

    def share(given: Sequence[Plan]) -> list[Laid]:
        if len(given) > 1:
            try:
                return _together(given, run, manners[0])
            except EngineFailure:
                pass  # one of them is to blame, or their number
        return [_singly(content, run, manners) for content in given]

    if len(plans) <= _HANDS or not idle_processors():
        return share(plans)
    from concurrent.futures import ThreadPoolExecutor

    found: list[Laid | None] = [None] * len(plans)
    with ThreadPoolExecutor(_HANDS) as pool:
        shares = pool.map(share, [plans[hand::_HANDS] for hand in range(_HANDS)])
        for hand, some in enumerate(shares):
            found[hand::_HANDS] = some
    return [laid for laid in found if laid is not None]


def _together(plans: Sequence[Plan], run: Engine, manner: Manner) -> list[Laid]:
    figures = [figures_of(content) for content in plans]
    graphs = (source(content, sized, manner) for content, sized in zip(plans, figures, strict=True))
    layouts = read_layouts(run("".join(graphs)), len(plans))
    for sized, layout in zip(figures, layouts, strict=True):
        _check(sized, layout)
    return list(zip(figures, layouts, strict=True))


def _singly(content: Plan, run: Engine, manners: Sequence[Manner]) -> Laid:
    for manner in manners:
        try:
            return _together([content], run, manner)[0]
        except EngineFailure:
            continue
    raise ChartError("the chart could not be laid out, not even in its plainest form")


def _check(figures: dict[str, Figure], layout: Layout) -> None:
    if not figures.keys() <= layout.places.keys():
        raise EngineFailure("the engine left symbols out")
