"""What is looked for
    Looks for a danger, warning or caution that does not say what it does to a person
    (`harm:`) or how to avoid it (`avoid:`), and for a notice without `avoid:`. What a hazard
    takes `as in` a library counts.

Why it matters at the machine
    A warning that only names a thing is read and passed over. Who knows what it does to a
    hand, and what to do about it, keeps the hand.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    danger live: Live terminals behind the cover
      harm: Mains voltage kills.
      at: fuse

    symptom dead: Does not start
      start at: fuse

    check fuse: Is the fuse whole?
      if yes: stop look-further
      if no: found blown-fuse

    fault blown-fuse: Fuse blown
      remedy: Fit a new one of the same rating.

    handoff look-further: The fuse is whole
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    danger live: Live terminals behind the cover
      harm: Mains voltage kills.
      avoid: Isolator off, locked and proved dead before the cover comes off.
      at: fuse

    symptom dead: Does not start
      start at: fuse

    check fuse: Is the fuse whole?
      if yes: stop look-further
      if no: found blown-fuse

    fault blown-fuse: Fuse blown
      remedy: Fit a new one of the same rating.

    handoff look-further: The fuse is whole
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.model.tree import Hazard
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for hazard in context.tree.hazards.values():
        lacks = _lacks(hazard)
        # Where it is taken from one that is not there, that is the finding.
        if lacks and not context.has_missing(hazard.span):
            yield RULE.finding(
                f"the {hazard.signal} `{hazard.name}` does not say "
                + " nor ".join(said for _, said in lacks),
                hazard.span,
                help=f"add {' and '.join(line for line, _ in lacks)}",
            )


def _lacks(hazard: Hazard) -> list[tuple[str, str]]:
    """The lines that are not there, and what they would say."""
    lacks = []
    if hazard.harm is None and hazard.signal != "notice":
        lacks.append(("`harm:` with what it does to a person", "what it does to a person"))
    if hazard.avoid is None:
        lacks.append(("`avoid:` with what keeps it from happening", "how to avoid it"))
    return lacks


RULE = Rule(
    name="bare-hazard",
    level=Level.FAULT,
    why="a warning that only names a thing is read and passed over",
    doc=__doc__,
    check=check,
)
