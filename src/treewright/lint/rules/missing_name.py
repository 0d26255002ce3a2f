"""What is looked for
    Looks for names that are written somewhere and that nothing has: the check that a way
    leads to, the condition that a check needs, the answer that a fault shows, a model, a
    place, a rung of the access ladder. Names that look like it are offered.

Why it matters at the machine
    A way to a check that is not there sends the technician nowhere; a condition that is not
    there is a lock-out that never gets done.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-levl

    check oil-level: Is the oil between the two marks?
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
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed, shown
from treewright.syntax.errors import changed
from treewright.text.diagnostic import Finding, Level

# By what was looked for; {} is the name as written. Anything else: "no … is called {}".
_MESSAGES = {
    "node": "no check, reading, step, fault or end is called {}",
    "node or procedure": "nothing in this tree is called {}",
    "procedure or node": "nothing in this tree is called {}",
    "check or reading": "{} is neither a check nor a reading",
    "answer": "{} is none of the answers there",
    "place": "{} is none of the places of this reading",
    "model": "{} is none of the models of this tree",
    "rung of the access ladder": "{} is no rung of the access ladder",
}
_HELP = {
    "answer": "write one of the answers in its own words",
    "place": "name one of the places in the reading's `at:` line",
    "model": "name one of the models in the tree's `models:` line, or add it there",
    "check or reading": "name a block that has answers",
    "rung of the access ladder": "name a rung of the tree's `access:` line, or add it there",
}
_WHY = {
    "condition": "a condition that is not there is never set up, and nobody notices",
    "answer": "what is written here cannot be held against the answers that are there",
    "place": "nothing is read at that place, so this answer never applies",
    "model": "whoever has that machine cannot know what is meant for it",
    "rung of the access ladder": "nobody can tell how far the machine has to be opened for it",
}


# A slip of the finger in one of these may as well be another word, or another machine.
_NEVER_CERTAIN = ("answer", "model")


def check(context: Context) -> Iterable[Finding]:
    for missing in context.tree.missing:
        name = shown(missing.written)
        message = _MESSAGES.get(missing.what, f"no {missing.what} is called {{}}")
        why = _WHY.get(missing.what, "")
        if missing.near:
            help = f"did you mean {listed(map(shown, missing.near), 'or')}?"
        else:
            help = _HELP.get(missing.what, "check the spelling, or add the block of this name")
        fix = None
        certain = missing.meant and missing.what not in _NEVER_CERTAIN
        if certain and missing.span.text == missing.written:
            fix = changed(missing.span, missing.meant)
        yield RULE.finding(
            message.replace("{}", name), missing.span, help=help, why=why, fix=fix
        )


RULE = Rule(
    name="missing-name",
    level=Level.FAULT,
    why="the technician would be sent to something that is not there",
    doc=__doc__,
    check=check,
)
