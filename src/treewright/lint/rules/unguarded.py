"""What is looked for
    Looks for checks, readings, steps, remedies and procedures that open the machine or work
    on it under power, and that stand under no hazard at all, neither named `at:` them nor
    `while:` a condition that holds there. As such work counts

    - an access rung above the first of the ladder;
    - a tool that cuts, heats, lifts, strikes, sprays or puts out or meets a voltage; where no
      access is written, also a tool that opens what is bolted or screwed;
    - the need of a condition whose set-up carries a hazard of its own.

    The tools are those of the linter's word list.

Why it matters at the machine
    Hands go in with no warning read. Most injuries at repair come from what the writer took
    for granted.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor
      access: outside, covers

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the belt cracked?
      how: Guard off.
      access: covers
      normal: no
      if yes: found old-belt
      if no: stop look-further

    fault old-belt: Belt cracked
      remedy: Order a new belt and have it fitted.
      access: outside

    handoff look-further: The belt is whole
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor
      access: outside, covers

    warning belt-drive: The flywheel swings back
      harm: Fingers are crushed between belt and pulley.
      avoid: Supply locked out, tank at zero, turn by the rim.
      at: belt

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the belt cracked?
      how: Guard off.
      access: covers
      normal: no
      if yes: found old-belt
      if no: stop look-further

    fault old-belt: Belt cracked
      remedy: Order a new belt and have it fitted.
      access: outside

    handoff look-further: The belt is whole
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import chain

from treewright.lint import trade
from treewright.lint.rule import Context, Rule, Where
from treewright.lint.words import shown
from treewright.model.nodes import Check, Cost, Fault, Node, Reading, Step
from treewright.model.tree import Hazard, Procedure, Tree, on_model
from treewright.model.written import Name
from treewright.reason.setup import Holding, setup
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    guards = _Guards(tree)
    reasons = {
        block.name: (block, reason)
        for block in _worked_at(tree)
        if (reason := _reason(tree, block, guards)) is not None
    }
    # A hazard may be for some models only, and so every model is looked at by itself.
    for name, (block, reason) in reasons.items():
        there = [one for one in context.models or (None,) if on_model(block.models, one)]
        bare = [one for one in there if not guards.over(block, one)]
        if not bare:
            continue
        where = Where(bare[0], tuple(one for one in bare if one) if len(bare) < len(there) else ())
        yield RULE.finding(
            f"no hazard is shown at `{name}`{where}, though {reason}",
            block.span,
            help=f"name `{name}` in the `at:` line of each hazard that is met there, or waive "
            "this with the reason why nobody can be hurt",
            way=context.way_to(name, where.model),
        )


def _worked_at(tree: Tree) -> Iterator[Node | Procedure]:
    for block in chain(tree.nodes.values(), tree.procedures.values()):
        if isinstance(block, Check | Reading | Step | Fault | Procedure):
            yield block


def _reason(tree: Tree, block: Node | Procedure, guards: _Guards) -> str | None:
    """Why a block is work that can hurt; None where nothing says that it is."""
    cost = block.cost
    if cost.access and cost.access.name in tree.access[1:]:
        return f"it opens the machine (access {shown(cost.access.name)})"
    tool = _telling_tool(cost)
    if tool is not None:
        return f"it is work with {shown(tool)}"
    for need in () if isinstance(block, Procedure) else block.needs:
        if guards.set_up_is_hazardous(need):
            return f"it needs {shown(need.name)}, whose set-up carries a hazard"
    return None


def _telling_tool(cost: Cost) -> str | None:
    lists = ["powered"] if cost.access else ["powered", "opening"]
    for tool in cost.tools:
        name = trade.without_figures(tool.text)
        if any(trade.pattern("tools", one).fullmatch(name) for one in lists):
            return tool.text
    return None


class _Guards:
    """Which hazards are shown where, as every output shows them."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.at: dict[str, list[Hazard]] = {}
        self.whilst: dict[str, list[Hazard]] = {}
        for hazard in tree.hazards.values():
            for name in hazard.at:
                self.at.setdefault(name.name, []).append(hazard)
            for name in hazard.whilst:
                self.whilst.setdefault(name.name, []).append(hazard)

    def over(self, block: Node | Procedure, model: str | None) -> bool:
        """Whether any hazard is shown at a block on a model."""
        if _any_on(self.at.get(block.name, ()), model):
            return True
        if isinstance(block, Procedure):
            return self._any_while(self._set_or_undone_by(block), model)
        # What it needs holds there; what else may hold takes longer to find out.
        return self._any_while((need.name for need in block.needs), model) or self._any_while(
            self.during[block.name].maybe if block.name in self.during else (), model
        )

    @cached_property
    def during(self) -> dict[str, Holding]:
        return setup(self.tree).during

    def _any_while(self, conditions: Iterable[str], model: str | None) -> bool:
        return any(_any_on(self.whilst.get(name, ()), model) for name in conditions)

    def _set_or_undone_by(self, procedure: Procedure) -> Iterator[str]:
        for condition in self.tree.conditions.values():
            for by in (condition.set_up_by, condition.undo_by):
                if by and by.name == procedure.name:
                    yield condition.name

    def set_up_is_hazardous(self, need: Name) -> bool:
        condition = self.tree.conditions.get(need.name)
        by = condition.set_up_by if condition else None
        return by is not None and by.name in self.at


def _any_on(hazards: Iterable[Hazard], model: str | None) -> bool:
    return any(on_model(hazard.models, model) for hazard in hazards)


RULE = Rule(
    name="unguarded",
    level=Level.DOUBT,
    why="hands go in with no warning read",
    doc=__doc__,
    check=check,
)
