"""What is looked for
    Looks for conditions that may still hold when the job ends, though something set them up
    and nothing undoes them. What has an `undo by` is undone at every end by itself; what may
    stay as it is says `undo by: none`.

Why it matters at the machine
    A gauge is left on its port, a jumper in its plug, a valve shut: the machine goes back to
    work with it.

Not so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition gauge-fitted: Pressure gauge on the test port
      set up by: fit-gauge

    procedure fit-gauge: Fit the gauge
      - Engine stopped, lines without pressure. Fit the gauge to the test port.

    symptom weak: Ram is slow
      start at: relief-pressure

    reading relief-pressure: Pressure at the end of the stroke
      needs: gauge-fitted
      if at least 170 bar: stop look-further
      if below 170 bar: found relief-low

    fault relief-low: Relief valve set too low
      remedy: Set it by the gauge.

    handoff look-further: The pressure is there
      to: the workshop

But so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition gauge-fitted: Pressure gauge on the test port
      set up by: fit-gauge
      undo by: remove-gauge

    procedure fit-gauge: Fit the gauge
      - Engine stopped, lines without pressure. Fit the gauge to the test port.

    procedure remove-gauge: Take the gauge off
      - Engine stopped, gauge at zero. Take the gauge off and put the plug back.

    symptom weak: Ram is slow
      start at: relief-pressure

    reading relief-pressure: Pressure at the end of the stroke
      needs: gauge-fitted
      if at least 170 bar: stop look-further
      if below 170 bar: found relief-low

    fault relief-low: Relief valve set too low
      remedy: Set it by the gauge.

    handoff look-further: The pressure is there
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.model.graph import Arc
from treewright.model.nodes import Done, Fault, Handoff, Step
from treewright.model.tree import Condition, on_model
from treewright.reason.trips import Seen, Stop
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for name, where in context.by_model(lambda model: _left(context, model)):
        stops = _way_left(context, where.model, context.tree.conditions[name])
        yield RULE.finding(
            f"`{name}` may still hold when the job ends at `{stops[-1].node}`, and nothing"
            f" undoes it{where}",
            context.tree.conditions[name].span,
            help="give it an `undo by: PROCEDURE`, or write `undo by: none` if it may stay",
            way=context.shown(stops),
        )


def _left(context: Context, model: str | None) -> Iterator[str]:
    for condition in context.tree.conditions.values():
        if condition.undo_by or condition.may_stay or not on_model(condition.models, model):
            continue
        if _is_set(context, condition) and _way_left(context, model, condition):
            yield condition.name


def _is_set(context: Context, condition: Condition) -> bool:
    """Whether a procedure or a step sets it; if none does, that is another rule's finding."""
    return condition.set_up_by is not None or any(
        isinstance(node, Step) and any(one.name == condition.name for one in node.sets)
        for node in context.tree.nodes.values()
    )


def _way_left(
    context: Context, model: str | None, condition: Condition
) -> tuple[Stop, ...]:
    nodes, trips = context.tree.nodes, context.trips(model)
    held = context.held(condition)

    def watch(seen: Seen, arc: Arc) -> Seen:
        return held.along(arc, bool(seen))

    def left(at: str, seen: Seen) -> bool:
        node = nodes.get(at)
        if not isinstance(node, Fault | Done | Handoff):
            return False
        retests = trips.ways.retests(at) if isinstance(node, Fault) else ()
        return held.leaving(node, bool(seen), retests)

    return trips.first(watch, False, left)


RULE = Rule(
    name="left-set",
    level=Level.DOUBT,
    why="the machine goes back to work with it",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
