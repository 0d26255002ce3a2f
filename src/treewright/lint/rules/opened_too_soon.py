"""What is looked for
    Looks for a check or a step that opens the machine further than it was (by the rungs of
    the access ladder) and stands before a check of a lower rung, where that check could have
    cleared a fault that the opening is for, by what the faults show. Remedies do not count,
    and neither does what says no `access`.

Why it matters at the machine
    Covers come off, oil runs out, gaskets are torn, and a look from the outside would have
    done. Each opening can also bring a new fault in.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor
      access: outside, strip-down

    warning sharp: Reeds and plates have sharp edges
      harm: Cut hands.
      avoid: Cut-proof gloves.
      at: valve-plate

    symptom slow-fill: Takes too long to fill
      start at: valve-plate

    check valve-plate: Are the reeds of the valve plate whole?
      access: strip-down
      if yes: go intake
      if no: found broken-reed

    check intake: Is the intake filter clean?
      access: outside
      if yes: stop look-further
      if no: found clogged-filter

    fault broken-reed: Valve reed broken
      shows: valve-plate no
      remedy: Fit new reeds.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Neither of the two
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor
      access: outside, strip-down

    warning sharp: Reeds and plates have sharp edges
      harm: Cut hands.
      avoid: Cut-proof gloves.
      at: valve-plate

    symptom slow-fill: Takes too long to fill
      start at: intake

    check intake: Is the intake filter clean?
      access: outside
      if yes: go valve-plate
      if no: found clogged-filter

    check valve-plate: Are the reeds of the valve plate whole?
      access: strip-down
      if yes: stop look-further
      if no: found broken-reed

    fault broken-reed: Valve reed broken
      shows: valve-plate no
      remedy: Fit new reeds.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Neither of the two
      to: the workshop
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Node, Reading, Step
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Seen, Stop
from treewright.text.diagnostic import Finding, Label, Level


def check(context: Context) -> Iterable[Finding]:
    nodes = context.tree.nodes
    if len(context.tree.access) < 2:
        return
    for (opener, looker), where in context.by_model(lambda model: _too_soon(context, model)):
        stops = _way_by(context, where.model, opener, looker)
        if not stops:
            continue
        access, lower = nodes[opener].cost.access, nodes[looker].cost.access
        assert access is not None and lower is not None
        yield RULE.finding(
            f"`{opener}` goes as deep as `{access}` before `{looker}`, which only takes `{lower}`"
            f" and tells the same faults apart{where}",
            access.span,
            help=f"ask `{looker}` before `{opener}`, if that can be",
            labels=(Label(lower.span, f"`{looker}` only takes this"),),
            way=context.shown(stops),
        )


def _way_by(
    context: Context, model: str | None, opener: str, looker: str
) -> tuple[Stop, ...]:
    def watch(seen: Seen, arc: Arc) -> Seen:
        return bool(seen) or arc.source == opener

    def goal(at: str, seen: Seen) -> bool:
        return at == looker and seen is True

    return context.trips(model).first(watch, False, goal)


def _too_soon(context: Context, model: str | None) -> Iterator[tuple[str, str]]:
    """Each check that could have come first, with the first node that opens before it."""
    rungs = _rungs(context)
    onward: dict[str, list[str]] = {}
    for arc in context.graph(model).forward:
        onward.setdefault(arc.source, []).append(arc.target)
    lower = _lower_behind(context, model, rungs, onward)
    opened = _opened_before(context, model, rungs, onward)
    suspects = context.suspects(model)
    told: set[str] = set()
    looked_at = {node.name: node for node in context.nodes(model)}
    for vertex in context.graph(model).order:
        node = looked_at.get(vertex)
        rung = rungs.get(vertex)
        if rung is None or not isinstance(node, Check | Reading | Step):
            continue
        if opened.get(node.name, rung) >= rung:
            continue
        if lower.get(node.name, rung) >= rung or node.name not in suspects.open:
            continue
        sought = _sought(suspects, node)
        others = suspects.open[node.name] & suspects.behind[node.name]
        looker = sought and _nearest(context, node.name, rungs, onward, suspects, sought, others)
        if looker and looker not in told:
            told.add(looker)
            yield node.name, looker


def _rungs(context: Context) -> dict[str, int]:
    """How deep each node goes that says so."""
    ladder = {name: at for at, name in enumerate(context.tree.access)}
    return {
        node.name: ladder[node.cost.access.name]
        for node in context.tree.nodes.values()
        if node.cost.access is not None and node.cost.access.name in ladder
    }


def _lower_behind(
    context: Context, model: str | None, rungs: dict[str, int], onward: dict[str, list[str]]
) -> dict[str, int]:
    """For each node the lowest rung of a check that comes after it, where there is one."""
    found: dict[str, int] = {}
    nodes = context.tree.nodes
    for vertex in reversed(context.graph(model).order):
        best: list[int] = []
        for target in onward.get(vertex, ()):
            if target in rungs and isinstance(nodes[target], Check | Reading):
                best.append(rungs[target])
            if target in found:
                best.append(found[target])
        if best:
            found[vertex] = min(best)
    return found


def _opened_before(
    context: Context, model: str | None, rungs: dict[str, int], onward: dict[str, list[str]]
) -> dict[str, int]:
    """For each node how deep the machine is open already on arrival, on the way where it is
    open least."""
    graph = context.graph(model)
    found = dict.fromkeys(graph.entries, -1)
    for vertex in graph.order:
        if vertex in found:
            now = max(found[vertex], rungs.get(vertex, -1))
            for target in onward.get(vertex, ()):
                found[target] = min(found.get(target, now), now)
    return found


def _sought(suspects: Suspects, node: Node) -> int:
    """The faults that a node is there to find: those that show something there; for a step,
    all that lie behind it."""
    still = suspects.open[node.name] & suspects.behind[node.name]
    if isinstance(node, Check | Reading):
        return still & suspects.reads_otherwise(node)
    return still


def _nearest(
    context: Context,
    opener: str,
    rungs: dict[str, int],
    onward: dict[str, list[str]],
    suspects: Suspects,
    sought: int,
    others: int,
) -> str | None:
    """The nearest check of a lower rung behind a node that tells what it seeks from others."""
    nodes = context.tree.nodes
    queue, seen = deque([opener]), {opener}
    while queue:
        for target in onward.get(queue.popleft(), ()):
            if target in seen:
                continue
            seen.add(target)
            queue.append(target)
            node = nodes[target]
            if not isinstance(node, Check | Reading):
                continue
            lower = rungs.get(target, rungs[opener]) < rungs[opener]
            if lower and _tells_apart(suspects, node, sought, others):
                return target
    return None


def _tells_apart(suspects: Suspects, node: Check | Reading, sought: int, others: int) -> bool:
    """Whether some answer clears a fault that is sought and keeps another one."""
    for answer in range(len(node.outcomes)):
        kept = suspects.gives(node, answer)
        if sought & ~kept and others & kept:
            return True
    return False


RULE = Rule(
    name="opened-too-soon",
    level=Level.DOUBT,
    why="a look from further outside may have made the opening needless",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
