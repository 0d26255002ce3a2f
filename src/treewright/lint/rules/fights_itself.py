"""What is looked for
    Looks for nodes that need two conditions which exclude each other.

Why it matters at the machine
    The two cannot be had at once: power locked out and the pump running. The technician
    leaves one of them away, and it may be the lock.

Not so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition running: Engine running
      set up by: start
      undo by: lock

    condition locked: Engine stopped and unable to start
      set up by: lock
      undo by: start
      excludes: running

    procedure start: Start the engine
      - Everyone clear. Start it.

    procedure lock: Lock the engine
      - Engine stopped, spark plug lead off and tied back.

    symptom weak: Ram is slow
      start at: coupling

    check coupling: Does the pump shaft turn?
      needs: running, locked
      if yes: stop look-further
      if no: found sheared-key

    fault sheared-key: Key of the coupling sheared
      needs: locked
      remedy: Fit a new key.

    handoff look-further: The pump turns
      to: the workshop

But so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition running: Engine running
      set up by: start
      undo by: lock

    condition locked: Engine stopped and unable to start
      set up by: lock
      undo by: start
      excludes: running

    procedure start: Start the engine
      - Everyone clear. Start it.

    procedure lock: Lock the engine
      - Engine stopped, spark plug lead off and tied back.

    symptom weak: Ram is slow
      start at: coupling

    check coupling: Does the pump shaft turn?
      needs: running
      if yes: stop look-further
      if no: found sheared-key

    fault sheared-key: Key of the coupling sheared
      needs: locked
      remedy: Fit a new key.

    handoff look-further: The pump turns
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations

from treewright.lint.rule import Context, Rule
from treewright.model.written import Name
from treewright.reason.held import exclusions
from treewright.text.diagnostic import Finding, Label, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, one, other), where in context.by_model(lambda model: _fights(context, model)):
        way = context.way(where.model, name)
        if context.whole and not way:
            continue
        excluding = context.tree.conditions[one.name], context.tree.conditions[other.name]
        yield RULE.finding(
            f"`{name}` needs `{one}` and `{other}`, and the two exclude each other{where}",
            other.span,
            help="take one of the two needs away, or make two nodes of it",
            labels=tuple(
                Label(condition.span, "excluded here")
                for condition in excluding
                if {one.name, other.name} & {name.name for name in condition.excludes}
            ),
            way=way,
        )


def _fights(context: Context, model: str | None) -> Iterator[tuple[str, Name, Name]]:
    against = {name: set(exclusions(context.tree, name)) for name in context.tree.conditions}
    for node in context.nodes(model):
        for one, other in combinations(node.needs, 2):
            if other.name in against.get(one.name, ()):
                yield node.name, one, other


RULE = Rule(
    name="fights-itself",
    level=Level.FAULT,
    why="the two cannot be had at once, and the one left away may be the lock",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
