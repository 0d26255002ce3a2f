"""What is looked for
    Follows each fault through the tree by what it `shows`, from every symptom that can lead to
    it: a check that it does not list gives its normal answer, one it lists with `maybe` either.
    Says so where no way ends at the fault, nor at another one (that is `wrong-finding`). A fault
    that shows nothing is not followed.

Why it matters at the machine
    The machine has this fault, and the technician is led past it, to a hand-off or a clean end.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: intake

    check intake: What does the intake filter look like?
      if clean: stop look-further
      if full of dust: found clogged-filter
      if wet with oil: found worn-rings

    fault clogged-filter: Intake filter clogged
      shows: intake clean
      remedy: Fit a new filter.

    fault worn-rings: Piston rings worn
      shows: intake wet with oil
      remedy: Fit new rings.

    handoff look-further: Filter and rings are good
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: intake

    check intake: What does the intake filter look like?
      if clean: stop look-further
      if full of dust: found clogged-filter
      if wet with oil: found worn-rings

    fault clogged-filter: Intake filter clogged
      shows: intake full of dust
      remedy: Fit a new filter.

    fault worn-rings: Piston rings worn
      shows: intake wet with oil
      remedy: Fit new rings.

    handoff look-further: Filter and rings are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from treewright.lint.rule import Context, Rule
from treewright.reason.trips import Stop
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, way), where in context.by_model(lambda model: _lost(context, model)):
        node = context.tree.nodes[name]
        if len(way) > 1:
            left = way[-2]
            said = f"its own answers lead past it at `{left.node}`"
            help = f"mend what `{name}` shows, or where `{left.node}: {left.answer}` leads"
        else:
            said = "its own answers lead round and round, or contradict each other"
            help = f"mend what `{name}` shows"
        yield RULE.finding(
            f"`{name}` is never found: {said}{where}",
            node.span,
            help=help,
            way=context.shown(way),
        )


def _lost(context: Context, model: str | None) -> Iterator[tuple[str, Sequence[Stop]]]:
    for one in context.prover(model).faults:
        if one.verdict == "lost":
            yield one.fault, one.way


RULE = Rule(
    name="never-found",
    level=Level.FAULT,
    why="the technician is led past what is wrong with the machine",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
