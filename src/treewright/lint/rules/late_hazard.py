"""What is looked for
    Looks for a hazard that is first shown after a step at which it already applies. A hazard
    is shown before what its `at:` names, and wherever a condition of its `while:` may hold,
    the set-up of that condition among them; so only one that is named `at:` can come late.

    That it applies earlier is taken as proven where the hazard itself speaks of a tool, and
    an earlier step works with the same tool, opens the machine at least as far (access), and
    is done under all the conditions of the later one. The tool counts where the hazard's
    title or `harm:` names it, or where its `avoid:` names it word for word as the `tools:`
    line has it; what is worn, lit with or wiped with does not count. There must be a way to
    the earlier step on which the hazard has not been shown yet, and a way on from it to the
    later one that takes no loop and no retest.

Why it matters at the machine
    The warning is read when the hand has been in there already.

Not so
    tree motor-trips: Motor trips its breaker
      machine: Brindle 60 compressor

    warning test-voltage: The insulation tester puts out 500 V
      harm: A shock that makes you fall.
      avoid: Nobody else at the terminals, discharge before the leads come off.
      at: earthed

    danger live: Live terminals in the motor's box
      harm: Mains voltage kills.
      avoid: Supply locked out and proved dead.
      at: insulation, earthed

    symptom trips: Trips the breaker at every start
      start at: insulation

    reading insulation: Motor insulation, windings to frame
      tools: insulation tester 500 V
      licence: a licensed electrician
      if at least 1 Mohm: stop look-further
      if below 1 Mohm: found earthed

    fault earthed: Motor winding leaks to the frame
      remedy: Fit a new motor and test it.
      tools: insulation tester 500 V
      licence: a licensed electrician

    handoff look-further: The motor is sound
      to: a licensed electrician

But so
    tree motor-trips: Motor trips its breaker
      machine: Brindle 60 compressor

    warning test-voltage: The insulation tester puts out 500 V
      harm: A shock that makes you fall.
      avoid: Nobody else at the terminals, discharge before the leads come off.
      at: insulation, earthed

    danger live: Live terminals in the motor's box
      harm: Mains voltage kills.
      avoid: Supply locked out and proved dead.
      at: insulation, earthed

    symptom trips: Trips the breaker at every start
      start at: insulation

    reading insulation: Motor insulation, windings to frame
      tools: insulation tester 500 V
      licence: a licensed electrician
      if at least 1 Mohm: stop look-further
      if below 1 Mohm: found earthed

    fault earthed: Motor winding leaks to the frame
      remedy: Fit a new motor and test it.
      tools: insulation tester 500 V
      licence: a licensed electrician

    handoff look-further: The motor is sound
      to: a licensed electrician
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint import trade
from treewright.lint.rule import Context, Rule, Where
from treewright.lint.words import shown
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Fault, Node, Reading, Step
from treewright.model.tree import Hazard, Tree, on_model
from treewright.reason.setup import Setup, setup
from treewright.reason.trips import Seen, Stop, Trips
from treewright.text.diagnostic import Finding, Label, Level

# Where a job stands: the earlier step still to come, done unwarned, the later one reached; or
# the hazard was shown in time, or a loop or retest was taken.
_BEFORE, _WORKED, _AT_LAST, _WARNED = range(4)


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    pairs = list(_same_work(tree))
    if not pairs:
        return
    held = setup(tree)
    told: set[tuple[str, str]] = set()
    for hazard, tool, first, second in pairs:
        name, early, late = hazard.name, first.name, second.name
        # One line in `at:` mends it, however many such steps come after.
        if (name, early) in told or not _under_the_same(tree, held, first, second):
            continue
        there = [
            model
            for model in context.models or (None,)
            if all(on_model(block.models, model) for block in (hazard, first, second))
        ]
        ways = {model: _way(context.trips(model), held, hazard, early, late) for model in there}
        on = [model for model in there if ways[model]]
        if not on:
            continue
        told.add((name, early))
        where = Where(on[0], tuple(one for one in on if one) if len(on) < len(there) else ())
        yield RULE.finding(
            f"the {hazard.signal} `{name}` is first shown at `{late}`{where}, but `{early}` "
            f"before it is work with {shown(tool)} too",
            first.span,
            labels=(
                Label(hazard.span, "the hazard that speaks of it"),
                Label(second.span, "it is first shown here"),
            ),
            help=f"name `{early}` in the `at:` line of `{name}`",
            way=context.shown(ways[on[0]]),
        )


def _same_work(tree: Tree) -> Iterator[tuple[Hazard, str, Node, Node]]:
    """A hazard, the tool it speaks of, a step with it that is not named `at:`, and one that is."""
    users: dict[str, dict[str, Node]] = {}
    written: dict[str, str] = {}
    for node in tree.nodes.values():
        if isinstance(node, Check | Reading | Step | Fault):
            for text in node.cost.tools:
                tool = trade.plain(text.text).lower()
                written.setdefault(tool, text.text)
                users.setdefault(tool, {})[node.name] = node
    harmless = trade.pattern("tools", "plain")
    for hazard in tree.hazards.values():
        named = {name.name for name in hazard.at}
        for tool, nodes in users.items():
            late = [node for name, node in nodes.items() if name in named]
            if 0 < len(late) < len(nodes) and _speaks_of(hazard, tool):
                if harmless.fullmatch(trade.without_figures(tool)):
                    continue
                for name, early in nodes.items():
                    # From a fault only its retest leads on.
                    if name not in named and not isinstance(early, Fault):
                        yield from ((hazard, written[tool], early, one) for one in late)


def _speaks_of(hazard: Hazard, tool: str) -> bool:
    about = f"{hazard.title.text}\n{hazard.harm.text if hazard.harm else ''}"
    avoid = hazard.avoid.text if hazard.avoid else ""
    return _stands_in(trade.without_figures(tool), about) or _stands_in(tool, avoid)


def _stands_in(words: str, text: str) -> bool:
    first = words.partition(" ")[0]
    if not first or first not in text.lower():
        return False
    return bool(trade.phrase(words).search(trade.plain(text)))


def _under_the_same(tree: Tree, held: Setup, early: Node, late: Node) -> bool:
    """Whether the earlier step is done as far inside, and under all conditions of the later."""
    rungs = {name: at for at, name in enumerate(tree.access)}
    first, second = (
        rungs.get(node.cost.access.name, 0) if node.cost.access else 0 for node in (early, late)
    )
    there = held.during.get(early.name)
    surely = there.surely if there else frozenset(need.name for need in early.needs)
    return first >= second and all(need.name in surely for need in late.needs)


def _way(trips: Trips, held: Setup, hazard: Hazard, early: str, late: str) -> tuple[Stop, ...]:
    """A shortest way to the earlier step without the hazard shown, and on to the later one."""
    named = {name.name for name in hazard.at}
    whilst = {name.name for name in hazard.whilst}

    def shows(name: str) -> bool:
        there = held.during.get(name)
        return name in named or bool(there and whilst & there.maybe)

    def watch(seen: Seen, arc: Arc) -> Seen:
        if arc.way_kind in ("back", "retest"):
            return _WARNED
        for name in (arc.source, *arc.does):
            if seen == _BEFORE and name == early:
                seen = _WORKED
            elif seen == _BEFORE and shows(name):
                seen = _WARNED
            elif seen == _WORKED and name == late:
                seen = _AT_LAST
        return seen

    if shows(early):
        return ()
    return trips.first(
        watch, _BEFORE, lambda at, seen: seen == _AT_LAST or (seen == _WORKED and at == late)
    )


RULE = Rule(
    name="late-hazard",
    level=Level.FAULT,
    why="the warning is read when the hand has been in there already",
    doc=__doc__,
    check=check,
)
