"""What is looked for
    Works out, for each model, whether the answers of a reading cover everything that can be
    read: every value, and where it is taken at several places, every mixture of values. An
    example shows what falls between. A check that has an answer for `yes` alone, or for
    `no` alone, lacks the other half.

Why it matters at the machine
    The technician has read a value, and none of the answers fits. Whoever guesses the
    nearest one may repair what is not broken.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlet
      if 8.0 to 8.6 bar: stop look-further
      if below 8.0 bar: found worn-rings

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    handoff look-further: The pressure is right
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlet
      if 8.0 to 8.6 bar: stop look-further
      if below 8.0 bar: found worn-rings
      if above 8.6 bar: found regulator

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault regulator: Regulator set too high
      remedy: Set it to 8.3 bar.

    handoff look-further: The pressure is right
      to: the workshop
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown, unasked, values_text
from treewright.model.nodes import Against, Check, Reading
from treewright.reason.limits import Gap
from treewright.record import record
from treewright.text.diagnostic import Finding, Level
from treewright.text.interval import Limits
from treewright.text.quantity import limits_text, quantity_text
from treewright.text.source import Span

_HELP = "add an answer for it, or `otherwise:` for all that is left"
_SHOWN = 3  # models with limits of their own that a message tells at most


@record
class _Trouble:
    """A gap that several models may have, each with limits of its own.

    `shape`: whether it is open below and above and which one of that sort it is; in words
    where it is no stretch of values.
    """

    reading: str
    span: Span
    shape: tuple[bool, bool, int] | str


@record
class _Said:
    where: str  # "below 150 s"
    example: str
    help: str


def check(context: Context) -> Iterable[Finding]:
    said: dict[_Trouble, dict[_Said, list[str]]] = {}

    def find(model: str | None) -> Iterator[_Trouble]:
        for trouble, one in _gaps(context, model):
            said.setdefault(trouble, {}).setdefault(one, []).append(model or "")
            yield trouble

    for trouble, on in context.by_model(find):
        ways = said[trouble]
        first = next(iter(ways))
        if len(ways) == 1:
            message = f"{first.where}{first.example}{on}"
        else:
            several = [f"{one.where} on {models[0]}" for one, models in ways.items()]
            more = len(several) - _SHOWN
            message = ", ".join(several[:_SHOWN]) + (f", and {more} more" if more > 0 else "")
        if not isinstance(trouble.shape, str):
            message = f"no answer fits {message}"
        way = context.way_to(trouble.reading, on.model)
        yield RULE.finding(message, trouble.span, help=first.help, way=way)


def _gaps(context: Context, model: str | None) -> Iterator[tuple[_Trouble, _Said]]:
    for node in context.nodes(model):
        if isinstance(node, Check) and (half := unasked(node)):
            message = f"this asks for yes or no, and has no answer for `{half}`"
            yield _Trouble(node.name, node.span, "half"), _Said(message, "", f"add `if {half}: …`")
        if not isinstance(node, Reading):
            continue
        judged = [one for one in node.outcomes if isinstance(one.test, Against)]
        # A library cannot know which models the trees that use it are for.
        unjudged = judged and node.specs and node.spec_for(model) is None
        if unjudged and not context.tree.library:
            message = f"no spec says what {shown(judged[0].label)} means"
            help = "add a `spec for` the model, or a `spec:` for all that have none of their own"
            yield _Trouble(node.name, judged[0].span, "no spec"), _Said(message, "", help)
        met: Counter[tuple[bool, bool]] = Counter()
        for gap in context.coverage(node, model).gaps:
            if gap.limits is None:
                said = _Said(f"{values_text(gap.values, node.unit)}: no answer fits", "", _HELP)
                yield _Trouble(node.name, node.span, "mixed"), said
                continue
            (one,) = gap.limits.intervals
            ends = (one.low is None, one.high is None)
            yield _Trouble(node.name, node.span, (*ends, met[ends])), _said(gap.limits, gap, node)
            met[ends] += 1


def _said(limits: Limits, gap: Gap, reading: Reading) -> _Said:
    text = limits_text(limits, reading.unit)
    value = quantity_text(gap.values[0][1], reading.unit)
    example = "" if value == text else f", such as {value}"
    verdicts = [one.test for one in reading.outcomes if isinstance(one.test, Against)]
    (one,) = limits.intervals
    if verdicts and not reading.places and (one.low is None or one.high is None):
        verdict = "below" if one.low is None else "above"
        if all(test.verdict != verdict for test in verdicts):
            return _Said(text, example, f"add `if {verdict}: …`, or `otherwise:` for all the rest")
    if not reading.places:
        return _Said(text, example, f"add `if {text}: …`, or `otherwise:` for all that is left")
    help = f"add an answer for it, like `if all {text}: …`, or `otherwise:` for all that is left"
    return _Said(f"{text} at every place" if len(reading.places) > 1 else text, example, help)


RULE = Rule(
    name="gap",
    level=Level.FAULT,
    why="the technician has looked and finds no answer that fits",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
