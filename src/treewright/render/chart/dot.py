"""The chart as source text in Graphviz's DOT language.

The text holds every word of the chart, so that it can be read and compared on its own; sizes
are fixed beforehand, since the words are set in our own type. Author text stands in labels
only. Knows neither the engine's answer nor SVG.
"""

from __future__ import annotations

from treewright.record import record
from treewright.render.chart.shape import Figure, answer_lines, answer_size, band_lines
from treewright.render.chart.symbols import Arrow, Band, Plan, Symbol

_SHAPES = {
    "decision": "diamond",
    "preparation": "hexagon",
}


@record
class Manner:
    """How much is asked of the engine. The plainer, the less can fail.

    Attributes:
        bands: stages are clusters.
        splines: the engine's name for the kind of line; "none" where only sizes are wanted.
        words: the labels hold the words. The sizes hold without them, and sooner.
    """

    bands: bool
    splines: str
    words: bool = False


WORDED = Manner(bands=True, splines="polyline", words=True)
"""For people to read."""

MANNERS = (
    Manner(bands=True, splines="polyline"),
    Manner(bands=False, splines="polyline"),
    Manner(bands=False, splines="line"),
)
"""From the best to the plainest; each is tried where the one before it failed."""


_ABREAST = 4  # answers of one decision; where there are more, every second one stands lower


def source(plan: Plan, figures: dict[str, Figure], manner: Manner = WORDED) -> str:
    """The graph in the DOT language; the same plan always gives the same text."""
    lines = [
        "digraph chart {",
        f'  graph [rankdir=TB, splines={manner.splines}, nodesep="0.2", '
        'ranksep="0.19", fontname="Helvetica", fontsize=11]',
        '  node [fontname="Helvetica", fontsize=11, fixedsize=true]',
    ]
    answers: dict[str, list[str]] = {}  # by the key of the decision they leave
    for number, arrow in enumerate(plan.arrows, 1):
        if arrow.answer or arrow.detail:
            answers.setdefault(arrow.tail, []).append(_answer(number, arrow, manner))
    symbols = {symbol.key: symbol for symbol in plan.symbols}
    banded: set[str] = set()
    for number, band in enumerate(plan.bands if manner.bands else (), 1):
        banded.update(band.keys)
        lines.append(f"  subgraph cluster_{number} {{")
        lines.append(f"    label={_quoted(_band_title(band))}; labeljust=l; margin=10")
        for key in band.keys:
            lines.append(f"    {_node(symbols[key], figures[key], manner)}")
            lines.extend(f"    {answer}" for answer in answers.get(key, ()))
        lines.append("  }")
    for symbol in plan.symbols:
        if symbol.key not in banded:
            lines.append(f"  {_node(symbol, figures[symbol.key], manner)}")
            lines.extend(f"  {answer}" for answer in answers.get(symbol.key, ()))
    seen: dict[str, int] = {}  # answers of each decision so far
    for number, arrow in enumerate(plan.arrows, 1):
        seen[arrow.tail] = seen.get(arrow.tail, 0) + 1
        many = len(answers.get(arrow.tail, ())) > _ABREAST
        lower = many and seen[arrow.tail] % 2 == 0
        lines.extend(f"  {edge}" for edge in _edges(number, arrow, symbols, lower=lower))
    return "\n".join([*lines, "}", ""])


def _band_title(band: Band) -> str:
    return "\n".join(line.text for line in band_lines(band.title))


def _node(symbol: Symbol, figure: Figure, manner: Manner) -> str:
    words = [
        " ".join(part for part in (symbol.number, symbol.title) if part),
        *(f"{warning.signal.upper()} {warning.title}" for warning in symbol.warnings),
        *symbol.details,
    ]
    label = "\n".join(words)
    shape = _SHAPES.get(symbol.form, "box")
    return (
        f"{symbol.key} [shape={shape}, width={_inches(figure.width)}, "
        f"height={_inches(figure.height)}, label={_quoted(label if manner.words else '')}]"
    )


def _answer(number: int, arrow: Arrow, manner: Manner) -> str:
    """The words of an answer: a node of their own, so that they stand in the arrow's line."""
    wide, high = answer_size(arrow)
    label = "\n".join(line.text for line in answer_lines(arrow)) if manner.words else ""
    return (
        f"a{number} [shape=plaintext, width={_inches(wide)}, height={_inches(high)}, "
        f"label={_quoted(label)}]"
    )


def _edges(
    number: int, arrow: Arrow, symbols: dict[str, Symbol], *, lower: bool
) -> tuple[str, ...]:
    if arrow.kind == "note":
        return (f'{arrow.tail} -> {arrow.head} [id="e{number}", dir=none, style=dashed, weight=2]',)
    straight = arrow.kind == "good" or symbols[arrow.tail].form in ("preparation", "terminator")
    weight = ", weight=8" if straight else ""
    if not (arrow.answer or arrow.detail):
        return (f'{arrow.tail} -> {arrow.head} [id="e{number}"{weight}]',)
    length = ", minlen=2" if lower else ""
    near = weight or ", weight=2"  # the words stand by the symbol they leave
    return (
        f'{arrow.tail} -> a{number} [id="w{number}", dir=none{near}{length}]',
        f'a{number} -> {arrow.head} [id="e{number}"{weight}]',
    )


def _inches(points: float) -> str:
    return f'"{points / 72:.3f}"'


def _quoted(text: str) -> str:
    """A label that no letter of an author's can leave; "&" would begin a character's name."""
    for mark, escaped in (("\\", "\\\\"), ('"', '\\"'), ("\n", "\\n"), ("&", "&amp;")):
        text = text.replace(mark, escaped)
    return f'"{text}"'
