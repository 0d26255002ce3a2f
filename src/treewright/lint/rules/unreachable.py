"""What is looked for
    Looks for checks, readings, steps, faults, hand-offs and dones that no symptom leads to,
    on any model. Where one leads to others that are not reached either, only the first is
    reported. A fault that is named nowhere at all is left to the rule `unused`.

Why it matters at the machine
    What no way leads to is never done. Either a way is missing, and the technician never
    makes a check that the writer counts on, or the text is left over and makes the sheet
    longer for nothing.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil

    check belt: Is the drive belt tight?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: Neither oil nor belt
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: go belt
      if no: found low-oil

    check belt: Is the drive belt tight?
      if yes: stop look-further
      if no: found slack-belt

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: Neither oil nor belt
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.model import digraph
from treewright.model.nodes import Fault, Handoff, Node
from treewright.model.tree import Tree
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    # Where no symptom leads anywhere, or a block is only for a model that is not there, that
    # is the one cause of many such findings.
    if not context.has_way_in or _model_is_missing(tree):
        return
    unused = {span for _, _, span in tree.unused}
    for first, following in _unreached(context):
        node = tree.nodes[first]
        if node.span in unused or first in context.hoped_for:
            continue
        blocks = "block" if following == 1 else f"{following} blocks"
        more = f", nor to the {blocks} behind it" if following else ""
        yield RULE.finding(
            f"no symptom leads to `{first}`{more}",
            node.span,
            help=f"lead a way here, like `{_verb(node)} {first}`, or take it out",
        )


def _verb(node: Node) -> str:
    return "found" if isinstance(node, Fault) else "stop" if isinstance(node, Handoff) else "go"


def _model_is_missing(tree: Tree) -> bool:
    blocks = (*tree.symptoms.values(), *tree.nodes.values())
    return any(block.models and not set(block.models) & set(tree.models) for block in blocks)


def _unreached(context: Context) -> Iterator[tuple[str, int]]:
    """The first of each unreached part, and how many more only that part leads on to."""
    graph = context.graph()
    nodes = [name for name in context.tree.nodes if name not in context.reached]
    index = {name: at for at, name in enumerate(nodes)}
    onward: list[list[int]] = [
        [index[arc.target] for arc in graph.arcs_from(name) if arc.target in index]
        for name in nodes
    ]
    for step, doers in graph.done_on.items():
        if step in index:
            for source, _ in doers:
                onward[index[source]].append(index[step])
    parts = digraph.components(onward)
    part_of = {at: number for number, part in enumerate(parts) for at in part}
    led_to = {
        part_of[other]
        for at, row in enumerate(onward)
        for other in row
        if part_of[other] != part_of[at]
    }
    first = sorted(part[0] for number, part in enumerate(parts) if number not in led_to)
    told: set[int] = set()
    for at in first:
        following = set(digraph.reached(onward, [at])) - told
        told |= following
        yield nodes[at], len(following) - 1


RULE = Rule(
    name="unreachable",
    level=Level.FAULT,
    why="what no way leads to is never done, however much the rest counts on it",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
