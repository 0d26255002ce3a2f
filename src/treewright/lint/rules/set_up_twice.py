"""What is looked for
    Looks for a way on which a condition is set up for one check, ended because another check
    needs what excludes it, and set up again for a third, with no remedy and no step in
    between. Only what takes time to set up is looked at, and only where the second check has
    one way on besides faults and ends, so that the third could be asked before it. One
    finding for each condition.

Why it matters at the machine
    The technician locks out, gives the power back, warms the machine up once more. Each time
    costs minutes, and each time is a chance to forget the lock.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    condition running: Machine warm and running
      set up by: start-up
      undo by: none

    condition locked: Supply off, locked and tagged
      set up by: lock
      undo by: unlock
      excludes: running

    procedure start-up: Start it and warm it up
      time: 12 min
      - Guards on, then start it. Ten minutes with the drain open.

    procedure lock: Lock the supply out
      time: 5 min
      - Isolator off, your own lock and tag on it.

    procedure unlock: Give the supply back
      time: 3 min
      - Covers on, tools counted, lock off.

    symptom slow-fill: Takes too long to fill
      start at: breather

    check breather: Is there only a faint pulse at the breather?
      needs: running
      if yes: go hand-turn
      if no: found worn-rings

    check hand-turn: Does the flywheel turn by hand?
      needs: locked
      if yes: go unloader-air
      if no: found tight-pump

    check unloader-air: Is the unloader pipe silent while it pumps?
      needs: running
      if yes: stop look-further
      if no: found unloader-open

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault tight-pump: Pump runs tight
      remedy: Fit new bearings.

    fault unloader-open: Unloader hangs open
      remedy: Free its pin.

    handoff look-further: None of the three
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    condition running: Machine warm and running
      set up by: start-up
      undo by: none

    condition locked: Supply off, locked and tagged
      set up by: lock
      undo by: unlock
      excludes: running

    procedure start-up: Start it and warm it up
      time: 12 min
      - Guards on, then start it. Ten minutes with the drain open.

    procedure lock: Lock the supply out
      time: 5 min
      - Isolator off, your own lock and tag on it.

    procedure unlock: Give the supply back
      time: 3 min
      - Covers on, tools counted, lock off.

    symptom slow-fill: Takes too long to fill
      start at: breather

    check breather: Is there only a faint pulse at the breather?
      needs: running
      if yes: go unloader-air
      if no: found worn-rings

    check unloader-air: Is the unloader pipe silent while it pumps?
      needs: running
      if yes: go hand-turn
      if no: found unloader-open

    check hand-turn: Does the flywheel turn by hand?
      needs: locked
      if yes: stop look-further
      if no: found tight-pump

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault tight-pump: Pump runs tight
      remedy: Fit new bearings.

    fault unloader-open: Unloader hangs open
      remedy: Free its pin.

    handoff look-further: None of the three
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from treewright.lint.rule import Context, Rule
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Node, Reading
from treewright.model.tree import Condition, on_model
from treewright.reason.trips import Seen, Stop
from treewright.text.diagnostic import Finding, Label, Level

# Of a condition on a way: not set up, set up, ended by what excludes it.
_UNSET, _SET, _ENDED = 0, 1, 2


def check(context: Context) -> Iterable[Finding]:
    nodes = context.tree.nodes
    for name, where in context.by_model(lambda model: _twice(context, model)):
        condition = context.tree.conditions[name]
        turns = _Turns(context, where.model, condition)
        stops = turns.way()
        first, between = turns.before(stops)
        again = nodes[stops[-1].node]
        yield RULE.finding(
            f"`{name}` is set up for `{first}`, ended for `{between}` and set up again for"
            f" `{again.name}`{where}",
            next(need for need in again.needs if need.name == name).span,
            help=f"ask `{again.name}` before `{between}`, if that can be: it saves"
            f" {float(turns.minutes):g} min",
            labels=(Label(nodes[between].span, f"needs what excludes `{name}`"),),
            way=context.shown(stops),
        )


def _twice(context: Context, model: str | None) -> Iterator[str]:
    for condition in context.tree.conditions.values():
        if on_model(condition.models, model):
            turns = _Turns(context, model, condition)
            if turns.held.against and turns.minutes and turns.way():
                yield condition.name


class _Turns:
    """How a condition is set up and ended along the ways of a model."""

    def __init__(self, context: Context, model: str | None, condition: Condition) -> None:
        self.nodes = context.tree.nodes
        self.trips = context.trips(model)
        self.held = context.held(condition)
        name = condition.set_up_by
        procedure = context.tree.procedures.get(name.name) if name else None
        # What it costs to set it up; nothing where no procedure says so.
        self.minutes = (procedure.cost.minutes if procedure else None) or Fraction(0)

    def way(self) -> tuple[Stop, ...]:
        """A shortest way to a check that it is set up for again; empty if there is none."""
        return self.trips.first(self._watch, _UNSET, self._again)

    def before(self, stops: tuple[Stop, ...]) -> tuple[str, str]:
        """The last check on a way that it was set up for, and the one that it was ended for."""
        state, first, between = _UNSET, "", ""
        for stop in stops[:-1]:
            node = self.nodes.get(stop.node)
            if node is not None:
                before, state = state, self._turn(node, state)
                if state == _SET and self.held.needed_at(node):
                    first = stop.node
                elif state == _ENDED and before == _SET:
                    between = stop.node
        return first, between

    def _watch(self, seen: Seen, arc: Arc) -> Seen:
        node = self.nodes.get(arc.source)
        if node is None or arc.does or arc.way_kind in ("retest", "back"):
            return _UNSET  # what is done on the way may need the order as it is
        assert isinstance(seen, int)
        return self._turn(node, seen)

    def _again(self, at: str, seen: Seen) -> bool:
        node = self.nodes.get(at)
        return seen == _ENDED and isinstance(node, Check | Reading) and self.held.needed_at(node)

    def _turn(self, node: Node, state: int) -> int:
        if not isinstance(node, Check | Reading):
            return _UNSET
        for need in node.needs:
            if need.name == self.held.name:
                state = _SET
            elif need.name in self.held.against and state == _SET:
                state = _ENDED if self._has_one_way_on(node) else _UNSET
        return state

    def _has_one_way_on(self, node: Node) -> bool:
        """Whether a check leads to one place, if it finds no fault and comes to no end."""
        arcs = self.trips.ways.graph.arcs_from(node.name)
        onward = {
            arc.target for arc in arcs if isinstance(self.nodes[arc.target], Check | Reading)
        }
        return len(onward) == 1


RULE = Rule(
    name="set-up-twice",
    level=Level.DOUBT,
    why="each time costs minutes, and each time is a chance to forget the lock",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
