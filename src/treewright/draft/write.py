"""Writes a drafted tree: the author's file with the ways put in, and nothing of it lost.

Blocks, lines and comments of the file stay as they are written. New are the ways of checks,
the starts of symptoms, checks that stand a second time, the ends that were lacking, and
comments on what is still to be filled in. What no way leads to is kept as a comment.
"""

from __future__ import annotations

from collections.abc import Iterator

from treewright.draft.blocks import ASKED, Blocks
from treewright.draft.cases import told
from treewright.draft.names import Names, names, place_of
from treewright.draft.rows import comment, joined, rows_of
from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree
from treewright.reason.answers import Answers
from treewright.reason.draft import Draft, To
from treewright.syntax import ast
from treewright.syntax.rows import WrittenBlock, WrittenFile, written

_ON_THE_WAY = (*ASKED, "step")
_RULE = "-" * 20


def write(file: ast.File, tree: Tree, draft: Draft, model: str | None = None) -> tuple[str, Names]:
    """The text of the drafted tree, still to be tidied.

    Args:
        file: the author's file, without a finding.
        tree: what it means.
        draft: its ways.
        model: the model it is drafted for.
    """
    answers = Answers(tree, model)
    made = names(tree, draft, answers)
    return _Writer(written(file), tree, draft, answers, made).text(), made


class _Writer:
    def __init__(
        self, file: WrittenFile, tree: Tree, draft: Draft, answers: Answers, made: Names
    ) -> None:
        self.file, self.tree, self.draft = file, tree, draft
        self.answers, self.made = answers, made
        self.blocks = Blocks(tree, draft, made)
        self.rank = {name: at for at, name in enumerate(made.places)}
        self.left: list[list[str]] = []  # blocks that are kept as comments

    def text(self) -> str:
        heads: list[WrittenBlock] = []
        staged: list[tuple[WrittenBlock | None, list[WrittenBlock]]] = [(None, [])]
        rest: list[WrittenBlock] = []
        cases: list[WrittenBlock] = []
        for block in self.file.blocks:
            kind = block.block.kind if block.block else "use"
            if kind == "stage":
                staged.append((block, []))
            elif kind in _ON_THE_WAY:
                staged[-1][1].append(block)
            elif kind == "case":
                cases.append(block)
            else:
                (heads if not any(some for _, some in staged) else rest).append(block)
        out: list[str] = []
        for block in heads:
            out += self.block(block)
        out += self.checks(staged)
        for block in rest:
            out += self.block(block)
        out += self.ends()
        for block in cases:
            out += self.block(block)
        out += ["", *joined(self.file.end)] if self.file.end else []
        return "\n".join([*out, *self.leftovers()]) + "\n"

    # ---- checks ----------------------------------------------------------------------------

    def checks(self, staged: list[tuple[WrittenBlock | None, list[WrittenBlock]]]) -> Iterator[str]:
        """The checks, stage by stage as they come first, each where the order has it."""
        made: list[tuple[int, WrittenBlock | None, list[list[str]], list[tuple[int, list[str]]]]]
        made = []
        last = len(self.rank)
        for stage, blocks in staged:
            above: list[list[str]] = []
            rows: list[tuple[int, list[str]]] = []
            for block in blocks:
                above += block.before[:-1] if block.close else block.before
                rows += self.asked(block)
            rows.sort(key=lambda one: one[0])
            first = rows[0][0] if rows else last
            made.append((first, stage, above, rows))
        plain = made.pop(0)
        if any(again.of == "" for again in self.made.again.values()):
            target = made[-1][3] if made else plain[3]
            target += [(last, self.blocks.plain(again)) for again in self.made.again.values()
                       if not again.of]  # fmt: skip
        for _, stage, above, rows in (plain, *sorted(made, key=lambda one: one[0])):
            if stage is not None and not rows:
                yield from self.comment_out(stage)
                continue
            if stage is not None:
                yield from self.block(stage)
            if above:
                yield from ("", *joined(above))
            for _, lines in rows:
                yield from lines

    def asked(self, block: WrittenBlock) -> Iterator[tuple[int, list[str]]]:
        """A check at all its places; one that is nowhere is kept as a comment."""
        assert block.block is not None
        name = block.block.name.text
        if name in self.made.left_out:
            list(self.comment_out(block))
            return
        node = self.tree.nodes[name]
        assert isinstance(node, Check | Reading)
        for own, place in place_of(self.draft, self.made, name):
            yield self.rank[own], self.blocks.check(block, node, own, place.ways)
        if name in self.made.only_retests:
            ways = {at: To() for at in range(len(node.outcomes))}
            yield len(self.rank), self.blocks.check(block, node, name, ways, retest=True)
        for again in self.made.again.values():
            if again.of == name:
                ways = {at: To(-1, again.then) for at in self.answers.given(again.then, node)}
                yield len(self.rank), self.blocks.check(block, node, again.name, ways, again=again)

    # ---- all others ------------------------------------------------------------------------

    def block(self, block: WrittenBlock) -> Iterator[str]:
        """A block that is no check; one that has no place in the draft is kept as a comment."""
        name = block.block.name.text if block.block else ""
        kind = block.block.kind if block.block else "use"
        if kind in ("handoff", "done") and name in self.made.left_out:
            yield from self.comment_out(block)
        elif kind != "case":
            yield from self.blocks.block(block)
        elif (found := told(self.tree, self.tree.cases[name], self.draft, self.made)).trouble:
            yield from self.comment_out(block, found.trouble)
        else:
            yield from self.blocks.case(block, found)

    def ends(self) -> Iterator[str]:
        """The ends that ways lead to and the file does not have."""
        if self.made.cured and self.made.gone not in self.tree.nodes:
            yield from ("", f"done {self.made.gone}: The complaint is gone")
        if self.made.stops and self.made.unknown not in self.tree.nodes:
            yield from (
                "",
                *comment(
                    "Where an answer fits none of the faults that are left, or a remedy was"
                    " no cure."
                ),
                f"handoff {self.made.unknown}: What was found fits no fault of this tree",
                "  # to: who takes over is to be filled in",
            )

    def comment_out(self, block: WrittenBlock, why: str = "") -> Iterator[str]:
        """Keeps a block as a comment at the end of the file."""
        kept = comment(why) if why else []
        kept += [*(block.before[-1] if block.close else []), f"# {block.head}"]
        for line in block.lines:
            kept += [f"# {row}".rstrip() for row in rows_of(line)]
        kept += [f"#   {row}" for row in block.after]
        self.left.append(kept)
        yield from ("", *joined(block.before[:-1] if block.close else block.before))

    def leftovers(self) -> Iterator[str]:
        if self.left:
            yield from ("", f"# {_RULE} Left out of this draft {_RULE}", "")
            yield from comment(
                "Checks that tell nothing apart here which is not known already, "
                "ends that no way leads to, cases that lack an answer."
            )
            for rows in self.left:
                yield from ("", *rows)
