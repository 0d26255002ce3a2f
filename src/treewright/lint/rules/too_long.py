"""What is looked for
    Measures questions, answers and titles in the letters of the sheets (Atkinson Hyperlegible,
    bold), and looks for those that do not fit their place:

    - the question of a check, the title of a reading or step: 3 lines of 120 mm at 14 pt, as
      on an A5 card;
    - the title of a symptom, fault, hand-off, end or procedure: 2 such lines;
    - an answer: 2 lines of 50 mm at 14 pt, beside its box;
    - the title of a stage: 1 line of 120 mm at 13 pt;
    - the title of a hazard: 3 lines of 80 mm at 11 pt, the width of its panel;
    - the title of the tree: 2 lines of 120 mm at 19 pt.

    A word that is wider than the line is reported as well.

Why it matters at the machine
    A question of four lines is not read to its end by somebody with a lamp in the other hand.
    On the card it pushes the answers over to the next side.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil

    check oil: Does the oil in the sight glass on the left-hand side of the crankcase, once the machine has stood still for five minutes on a level floor and the foam has gone down, stand between the two marks?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil

    check oil: Does the oil stand between the two marks on the sight glass?
      how: Left-hand side of the crankcase. Level floor, stopped for five minutes, no foam.
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop
"""  # noqa: E501 (a question that is too long)

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint import trade
from treewright.lint.rule import Context, Rule
from treewright.model.nodes import Check, Reading, Step
from treewright.model.tree import Tree
from treewright.record import record
from treewright.text.diagnostic import Finding, Level
from treewright.text.lettering import MM, atkinson
from treewright.text.source import Span

_WIDEST = 1.45  # no letter of the font is wider, in type sizes; see the test


@record
class _Place:
    """Where a text has to fit: lines, points, millimetres."""

    what: str
    lines: int
    size: float
    room: float

    def surely_fits(self, text: str) -> bool:
        """Whether it fits wherever its lines break, so that they need not be looked for.

        A line is only left when the next word does not fit it: all but the last are filled up
        to the longest word.
        """
        line = self.room * MM / self.size
        if len(text) * _WIDEST <= line:
            return True
        longest = max(map(len, text.split())) * _WIDEST
        filled = line * self.lines - longest * (self.lines - 1)
        return longest <= line and atkinson(bold=True).width(text) <= filled


_QUESTION = _Place("question", 3, 14, 120)
_TITLE = _Place("title", 3, 14, 120)
_HEADING = _Place("title", 2, 14, 120)
_ANSWER = _Place("answer", 2, 14, 50)
_STAGE = _Place("title of a stage", 1, 13, 120)
_HAZARD = _Place("title of a hazard", 3, 11, 80)
_TREE = _Place("title of the tree", 2, 19, 120)


def check(context: Context) -> Iterable[Finding]:
    for place, text, span, node in _placed(context.tree):
        words = trade.plain(text)
        if place.surely_fits(words):
            continue
        letters = atkinson(bold=True)
        taken = letters.lines(words, place.size, place.room)
        one_line = place.room * MM / place.size
        if taken > place.lines:
            message = (
                f"this {place.what} takes {taken} lines, and there is room for {place.lines} "
                f"of {place.room:g} mm at {place.size:g} pt"
            )
            help = "say it in fewer words, and put the rest into `how:` or `about:`"
        elif letters.longest_piece(words) > one_line:
            message = f"a word of this {place.what} is wider than its line of {place.room:g} mm"
            help = "write it as several words"
        else:
            continue
        way = context.way_to(node) if node else ()
        yield RULE.finding(message, span, help=help, way=way)


def _placed(tree: Tree) -> Iterator[tuple[_Place, str, Span, str]]:
    """Every text that has a place of its own, with the node that it belongs to."""
    yield _TREE, tree.title.text, tree.title.span, ""
    for node in tree.nodes.values():
        place = _HEADING
        if isinstance(node, Check):
            place = _QUESTION
        elif isinstance(node, Reading | Step):
            place = _TITLE
        yield place, node.title.text, node.title.span, node.name
        for outcome in node.outcomes if isinstance(node, Check | Reading) else ():
            yield _ANSWER, outcome.label, outcome.span, node.name
    for blocks, place in (
        (tree.symptoms, _HEADING), (tree.procedures, _HEADING), (tree.stages, _STAGE),
        (tree.hazards, _HAZARD),
    ):  # fmt: skip
        for block in blocks.values():
            yield place, block.title.text, block.title.span, ""


RULE = Rule(
    name="too-long",
    level=Level.WORDING,
    why="a text that runs over its place is not read to its end with a lamp in the other hand",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
