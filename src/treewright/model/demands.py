"""Which check must come before which: `before` lines resolved, and circles of them found.

What is kept in the tree is sound: no check waits, in the end, for itself.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from itertools import pairwise

from treewright.model.digraph import components
from treewright.model.lines import Lines
from treewright.model.nodes import Check, Node, Reading
from treewright.model.scope import Found, Names, Scope
from treewright.model.written import Name
from treewright.syntax import ast
from treewright.syntax.errors import listed, syntax

_ASKED = ("check", "reading")


@dataclass(slots=True)
class Demands:
    """The `before` lines of a tree.

    Attributes:
        of_libraries: what stands in a library's line (the check it holds for, the word and its
            file): which checks of the tree that is about is only known when all are there.
    """

    of_libraries: list[tuple[str, ast.Word, Scope]] = field(default_factory=list)

    def of(self, found: Found, lines: Lines) -> tuple[Name, ...]:
        """What a check comes before, as far as that stands in the tree's own file."""
        names = []
        for word, scope in lines.words("before"):
            if scope.alias:
                self.of_libraries.append((found.id, word, scope))
                continue
            name = lines.names.name(scope, word, "node", only=_ASKED)
            names += [name] if name else []
        return tuple(names)

    def settle(self, nodes: dict[str, Node], names: Names) -> None:
        """Puts the libraries' demands to the nodes, and takes out what cannot be."""
        more: dict[str, list[Name]] = {}
        for check, word, scope in self.of_libraries:
            name = names.name(scope, word, "node", only=_ASKED, taken=False)
            if name is not None:
                there = [name.name, *names.stand_ins.get(name.name, ())]
                more.setdefault(check, []).extend(Name(one, word.span) for one in there)
        for node in list(nodes.values()):
            if isinstance(node, Check | Reading) and (node.before or node.name in more):
                wanted = [*node.before, *more.get(node.name, ())]
                kept: dict[str, Name] = {}
                for name in wanted:
                    if isinstance(nodes.get(name.name), Check | Reading):
                        kept.setdefault(name.name, name)
                nodes[node.name] = replace(node, before=tuple(kept.values()))
        _take_out_circles(nodes, names)


def _take_out_circles(nodes: dict[str, Node], names: Names) -> None:
    """Says of each circle what goes round in it, and takes all of it out."""
    checks = [node for node in nodes.values() if isinstance(node, Check | Reading)]
    place = {check.name: at for at, check in enumerate(checks)}
    onward = [[place[name.name] for name in check.before] for check in checks]
    for part in sorted(components(onward)):
        inside = {checks[at].name for at in part}
        first = checks[part[0]]
        if not any(name.name in inside for name in first.before):
            continue
        links = _round(first, {checks[at].name: checks[at] for at in part})
        names.findings.append(
            syntax(_words(first.name, links), links[-1].span, "take one of these `before` out")
        )
        for at in part:
            check = checks[at]
            kept = tuple(name for name in check.before if name.name not in inside)
            nodes[check.name] = replace(check, before=kept)


def _round(first: Check | Reading, part: dict[str, Check | Reading]) -> list[Name]:
    """The names that lead from a check the shortest way back to itself."""
    came: dict[str, list[Name]] = {}
    queue = deque([(first, list[Name]())])
    while queue:
        check, links = queue.popleft()
        for name in check.before:
            if name.name in part and name.name not in came:
                came[name.name] = [*links, name]
                queue.append((part[name.name], came[name.name]))
    return came[first.name]


def _words(first: str, links: list[Name]) -> str:
    if len(links) == 1:
        return f"`{first}` cannot come before itself"
    row = [first, *(name.name for name in links)]
    steps = [f"`{row[0]}` comes before `{row[1]}`"]
    steps += [f"`{one}` before `{other}`" for one, other in pairwise(row[1:])]
    return f"{listed(steps, 'and')}: none of them can be first"
