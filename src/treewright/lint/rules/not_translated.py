"""What is looked for
    Looks into the translations beside a tree, `NAME.de.tree` beside `NAME.tree`: for texts that
    are not translated, for blocks, answers and lines that the tree does not have, for numbers
    that are others than in the tree, and for a translation that is of another edition.

Why it matters at the machine
    The walk-through offers a language only where every text is there in it: nobody is to find
    a hazard in a language that he does not read. A figure that was mistyped is followed as if
    it were right.

Not so
    tree lamp: The lamp is dark
      machine: Pellworth lamp

    symptom dark: Dark
      start at: plugged-in

    check plugged-in: Is the plug in its socket?
      if yes: stop electrics
      if no: found loose-plug

    fault loose-plug: Plug not home
      remedy: Push it in.
      retest: plugged-in

    handoff electrics: It needs an electrician
      to: an electrician

    translation lamp: Die Lampe ist dunkel
      machine: Pellworth-Lampe

    symptom dark: Dunkel

    check plugged-in: Steckt der Stecker in der Dose?
      if yes: ja

    fault loose-plug: Stecker lose
      remedy: Hineindrücken.

    handoff electrics: Eine Elektrofachkraft ist nötig
      to: eine Elektrofachkraft

But so
    tree lamp: The lamp is dark
      machine: Pellworth lamp

    symptom dark: Dark
      start at: plugged-in

    check plugged-in: Is the plug in its socket?
      if yes: stop electrics
      if no: found loose-plug

    fault loose-plug: Plug not home
      remedy: Push it in.
      retest: plugged-in

    handoff electrics: It needs an electrician
      to: an electrician

    translation lamp: Die Lampe ist dunkel
      machine: Pellworth-Lampe

    symptom dark: Dunkel

    check plugged-in: Steckt der Stecker in der Dose?
      if yes: ja
      if no: nein

    fault loose-plug: Stecker lose
      remedy: Hineindrücken.

    handoff electrics: Eine Elektrofachkraft ist nötig
      to: eine Elektrofachkraft
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.model import translation
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for one in context.tree.translations:
        yield from one.slips


RULE = Rule(
    name=translation.RULE,
    level=Level.DOUBT,
    why=translation.WHY,
    doc=__doc__,
    check=check,
    in_libraries=False,
)
