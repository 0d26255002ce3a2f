"""The reviewer's page: whether a tree may be printed, and what to look at before it is.

One self-contained page without script: the findings beside the source, the chart with their
places marked, what finds each fault and how long that takes, what a better order would save, the
conditions over the steps, and what was waived. Also for a tree that is not sound: then it
shows what there is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction

from treewright.lint.review import Review
from treewright.lint.rules import RULES
from treewright.model.graph import entry
from treewright.model.nodes import Node
from treewright.model.tree import Procedure, Symptom, Tree
from treewright.reason.minutes import Minutes
from treewright.reason.trips import Stop
from treewright.record import record
from treewright.render import web
from treewright.render.outline import Outline
from treewright.report.conditions import HOLDS, Cell, grid
from treewright.report.coverage import Covered, coverage
from treewright.report.listing import Files, Place, Shown, head_line
from treewright.report.marked import Chart, Mark
from treewright.report.reckoned import reckoned
from treewright.text.diagnostic import Finding, Level
from treewright.text.quantity import minutes_text, number_text

SHEETS = ("base.css", "review.css")
UNREAD = ("syntax", "file")
"""Rules whose findings say that a tree could not be read whole."""

_COLUMNS = 20  # of the table of conditions, before it goes on below


@record
class Verdict:
    """Whether a tree may be printed, in one line. `word`: "no", "yes" or "decide"."""

    word: str
    text: str


def verdict(findings: Sequence[Finding], library: bool = False) -> Verdict:
    """What follows from the findings that were not waived."""
    counts = Counter(finding.level for finding in findings)
    faults, doubts, wordings = (_count(counts[level], level.value) for level in Level)
    rest = [text for text in (doubts, wordings) if text]
    if faults:
        may_not = "no tree that uses it may be printed" if library else "may not be printed"
        return Verdict("no", f"{', '.join([faults, *rest])}: {may_not}")
    may = "trees may use it" if library else "may be printed"
    if not rest:
        return Verdict("yes", f"no fault: {may}")
    return Verdict("decide", f"no fault: {may}; {' and '.join(rest)} to decide")


def review_page(
    tree: Tree, review: Review, outline: Outline | None, chart_svg: str, trouble: str = ""
) -> str:
    """The page of one tree, or of one library.

    Args:
        tree: the tree, as far as it could be read.
        review: what was found, findings of the rules in `UNREAD` among it, and what was waived.
        outline: the compiled tree; None where it could not be compiled.
        chart_svg: its chart as `render/chart` draws it; "" where it could not be drawn.
        trouble: why the tree could not be compiled or drawn, in one sentence.

    Returns:
        The page's text; the same for the same arguments.
    """
    pages = frozenset(rule.name for rule in RULES)
    everywhere = [f.span.source for f in review.findings]
    files = Files([tree.source, *tree.sources, *everywhere])
    found = {n: (f, files.shown(f, n, pages)) for n, f in enumerate(review.findings, 1)}
    shown = [one for _, one in found.values()]
    drawn = _marked(chart_svg, tree, found, files)
    whole = not any(f.rule in UNREAD for f in review.findings)
    sound = not any(f.level is Level.FAULT for f in review.findings)
    cost = reckoned(tree) if sound and not tree.library else None
    return web.static_page(
        "review.html",
        SHEETS,
        drawn.svg,
        tree=tree,
        about=outline.mark if outline else tree.name,
        compiled=outline is not None,
        verdict=verdict(review.findings, tree.library),
        whole=whole,
        trouble=trouble,
        findings=shown,
        waived=[
            (files.shown(finding, n, pages), waiver.reason, files.place(waiver.span))
            for n, (finding, waiver) in enumerate(review.waived, 1)
        ],
        listings=[files.listing(source, found) for source in files.sources if source.text],
        chart=web.markup(drawn.svg),
        on_chart=drawn.on,
        off_chart=drawn.off,
        coverage=[] if tree.library else list(_rows(tree, files)),
        strips=[] if tree.library else _strips(tree, files),
        legend=_LEGEND,
        reckoned=None if cost is None else {
            "matrix": web.markup(cost.matrix), "bars": web.markup(cost.bars),
            "minutes": cost.minutes, "orders": cost.orders, "advice": cost.advice,
        },
    )


def _count(count: int, word: str) -> str:
    return f"{count} {word}" + ("s" if count > 1 else "") if count else ""


# ---- the chart -----------------------------------------------------------------------------


@record
class Drawn:
    """The chart with its marks: each finding with the symbol it is at, and those about what
    does not stand on the chart."""

    svg: str = ""
    on: tuple[tuple[str, Shown], ...] = ()
    off: tuple[Shown, ...] = ()


def _marked(
    svg: str, tree: Tree, found: dict[int, tuple[Finding, Shown]], files: Files
) -> Drawn:
    if not svg:
        return Drawn()
    chart = Chart(svg)
    anchors: dict[str, str] = {}
    symbols: dict[tuple[str, int], str] = {}
    for id, address, block in _drawn(tree):
        place = files.place(block.span)
        anchors[address] = place.anchor
        symbols[place.file, place.line] = id
    chart.lead(anchors)
    on: list[tuple[str, Shown]] = []
    off: list[Shown] = []
    for finding, shown in found.values():
        head = head_line(finding.span.source, finding.span.line)
        id = symbols.get((shown.place.file, head), "")
        if chart.has(id):
            on.append((id, shown))
        else:
            off.append(shown)
    for id in dict(on):
        some = [one for other, one in on if other == id]
        some.sort(key=lambda one: (_LEVELS.index(one.level), one.number))
        chart.mark(id, [Mark(one.number, one.level, one.sign) for one in some])
    return Drawn(chart.svg(), tuple(on), tuple(off))


_LEVELS = [level.value for level in Level]


def _drawn(tree: Tree) -> Iterator[tuple[str, str, Symptom | Node | Procedure]]:
    """Each block that may stand on a chart: the id of its symbol there, where that leads to.

    A block whose name another one had first is marked at that one's symbol.
    """
    nodes: dict[str, Symptom | Node | Procedure] = {**tree.nodes}
    symptoms: dict[str, Symptom | Node | Procedure] = {**tree.symptoms}
    procedures: dict[str, Symptom | Node | Procedure] = {**tree.procedures}
    for blocks, id, address in (
        (symptoms, "chart-symptom-", "symptom-"),
        (procedures, "chart-procedure-", "procedure-"),
        (nodes, "node-", "step-"),
    ):
        for name, block in blocks.items():
            yield f"{id}{name}", f"{address}{name}", block


# ---- what finds each fault -----------------------------------------------------------------


@record
class Link:
    """A block by its number and name, and where on the page it is written."""

    number: str
    name: str
    title: str
    anchor: str
    answer: str = ""


@record
class Row:
    """A fault in the table of coverage. Texts are "" where there is nothing to say."""

    fault: Link
    models: tuple[str, ...]
    share: str
    percent: str
    time: str
    steps: str
    setup: str
    procedures: tuple[Link, ...]
    missing: tuple[str, ...]
    known: str
    way: tuple[Link, ...]
    on: tuple[str, ...]
    lost: tuple[str, ...]
    alike: tuple[Link, ...]
    silent: bool  # it says of no check what it shows


def _rows(tree: Tree, files: Files) -> Iterator[Row]:
    covered = coverage(tree)
    shares = [one.fault.share for one in covered]
    total = sum((share for share in shares if share is not None), Fraction(0))
    complete = total > 0 and None not in shares
    for one in covered:
        yield _row(one, total if complete else None, tree, files)


def _row(one: Covered, total: Fraction | None, tree: Tree, files: Files) -> Row:
    fault = one.fault
    took = one.minutes or Minutes(Fraction(0), Fraction(0), (), ())
    return Row(
        fault=_link(fault, files),
        models=fault.models,
        share="" if fault.share is None else number_text(fault.share),
        percent=number_text(fault.share / total * 100, 0) if fault.share and total else "",
        time="" if not one.way or took.total is None else minutes_text(took.total),
        steps=minutes_text(took.steps),
        setup=minutes_text(took.setup) if took.procedures else "",
        procedures=tuple(
            _link(tree.procedures[name], files)
            for name in took.procedures
            if name in tree.procedures
        ),
        missing=took.missing,
        known=minutes_text(took.known) if took.known else "",
        way=tuple(_stop(stop, tree, files) for stop in one.way),
        on=one.models,
        lost=one.lost,
        alike=tuple(_link(tree.nodes[name], files) for name in one.alike),
        silent=not fault.shows,
    )


def _link(block: Symptom | Node | Procedure, files: Files, answer: str = "") -> Link:
    anchor = files.place(block.span).anchor
    return Link(block.number, block.name, block.title.text, anchor, answer)


def _stop(stop: Stop, tree: Tree, files: Files) -> Link:
    for symptom in tree.symptoms.values():
        if entry(symptom.name) == stop.node:
            return _link(symptom, files)
    return _link(tree.nodes[stop.node], files, stop.answer)


# ---- conditions over the steps -------------------------------------------------------------


@record
class Strip:
    """Some columns of the table of conditions: the nodes, and for each condition its cells."""

    columns: tuple[Link, ...]
    rows: tuple[tuple[str, str, Place, tuple[Cell, ...]], ...]


_LEGEND = (
    *(Cell(holds) for holds in HOLDS),
    Cell("every", "always"), Cell("some", "maybe"),
    Cell("never", undoes="always"), Cell("never", undoes="maybe"),
)  # fmt: skip


def _strips(tree: Tree, files: Files) -> list[Strip]:
    table = grid(tree)
    if not table.conditions:
        return []
    columns = [_link(tree.nodes[name], files) for name in table.nodes]
    first_end = sum(1 for one in columns if one.number.isdecimal())
    strips = []
    for at, to in (*_parted(0, first_end), *_parted(first_end, len(columns))):
        rows = tuple(
            (name, tree.conditions[name].title.text,
             files.place(tree.conditions[name].span), cells[at:to])
            for name, cells in zip(table.conditions, table.cells, strict=True)
        )  # fmt: skip
        strips.append(Strip(tuple(columns[at:to]), rows))
    return strips


def _parted(at: int, to: int) -> Iterator[tuple[int, int]]:
    """A stretch of columns cut into parts as even as can be."""
    parts = -(-(to - at) // _COLUMNS)
    for part in range(parts):
        yield at + (to - at) * part // parts, at + (to - at) * (part + 1) // parts
