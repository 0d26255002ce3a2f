"""What is looked for
    Looks for two faults that are the same cause and have different remedies. They are the
    same where their titles say the same, but for capitals, blanks and the last mark; or where
    their titles have the same words in another order and both show the same. Faults that no
    model has both of are left alone.

Why it matters at the machine
    What is done about a worn seal then hangs on the complaint by which it was found. Mostly
    one of the two remedies slipped in from the line above, and the machine comes back.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: valve-plate

    symptom noisy: Knocks while it pumps
      start at: head

    check valve-plate: Does air blow back at the intake?
      if yes: found worn-plate
      if no: stop look-further

    check head: Does the knocking come from the head?
      if yes: found knocking-plate
      if no: stop look-further

    fault worn-plate: Valve plate worn
      remedy: Fit a new valve plate.

    fault knocking-plate: Valve plate worn
      remedy: Fit new piston rings.

    handoff look-further: It is not the valve plate
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: valve-plate

    symptom noisy: Knocks while it pumps
      start at: head

    check valve-plate: Does air blow back at the intake?
      if yes: found worn-plate
      if no: stop look-further

    check head: Does the knocking come from the head?
      if yes: found worn-plate
      if no: stop look-further

    fault worn-plate: Valve plate worn
      remedy: Fit a new valve plate.

    handoff look-further: It is not the valve plate
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.place import find_words
from treewright.lint.rule import Context, Rule
from treewright.model.nodes import Fault
from treewright.record import record
from treewright.text.diagnostic import Finding, Label, Level


@record
class _Cause:
    """A fault with what is compared, worked out once."""

    fault: Fault
    title: str
    remedy: str
    shown: frozenset[tuple[str, int | None, bool]]

    def is_same_as(self, other: _Cause) -> bool:
        """Both have the same words in their titles; in another order only what they show tells."""
        return self.title == other.title or (bool(self.shown) and self.shown == other.shown)


def check(context: Context) -> Iterable[Finding]:
    alike: dict[tuple[str, ...], list[_Cause]] = {}
    for fault in context.tree.nodes.values():
        if not isinstance(fault, Fault) or fault.remedy is None:
            continue
        title = _plain(fault.title.text)
        cause = _Cause(fault, title, _plain(fault.remedy.text), _shown(fault))
        group = alike.setdefault(tuple(sorted(title.split())), [])
        others = [one for one in group if one.is_same_as(cause) and _meet(one.fault, fault)]
        group.append(cause)
        if not others or any(one.remedy == cause.remedy for one in others):
            continue
        first = others[0].fault
        assert first.remedy is not None
        earlier = Label(
            find_words(first.remedy, first.remedy.text), f"the remedy of `{first.name}`"
        )
        yield RULE.finding(
            f"the same cause has two remedies, at `{first.name}` and at `{fault.name}`",
            find_words(fault.remedy, fault.remedy.text),
            help="write one fault and lead both ways to it, or say in the titles what differs",
            labels=(earlier,),
        )


def _plain(text: str) -> str:
    """A text without what makes no difference: capitals, further blanks, the last mark."""
    return " ".join(text.split()).casefold().rstrip(" .!?;:,")


def _meet(first: Fault, second: Fault) -> bool:
    """Whether any model has both."""
    return not (first.models and second.models) or bool({*first.models} & {*second.models})


def _shown(fault: Fault) -> frozenset[tuple[str, int | None, bool]]:
    return frozenset((show.node.name, show.outcome, show.maybe) for show in fault.shows)


RULE = Rule(
    name="two-remedies",
    level=Level.DOUBT,
    why="what is done about it hangs on how it was found, and one of the two may be wrong",
    doc=__doc__,
    check=check,
)
