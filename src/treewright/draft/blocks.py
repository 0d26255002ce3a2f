"""Writes the blocks of a drafted tree one by one: the author's lines, with the ways put in.

What has changed its name or is left out is no longer named in them. Where a block stands is for
write.py to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.draft.cases import Told
from treewright.draft.names import Again, Names
from treewright.draft.rows import above, comment, rows_of, values
from treewright.model.nodes import Against, Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason.draft import Draft, To
from treewright.syntax import ast
from treewright.syntax.rows import WrittenBlock, WrittenLine

ASKED = ("check", "reading")


class Blocks:
    """Writes blocks.

    Args:
        tree: what the author's file means.
        draft: its ways.
        made: what everything in the draft is called.
    """

    def __init__(self, tree: Tree, draft: Draft, made: Names) -> None:
        self.tree, self.draft, self.made = tree, draft, made
        self.starts = {begun.symptom: begun.to for begun in draft.begun}

    # ---- checks ----------------------------------------------------------------------------

    def check(
        self, block: WrittenBlock, node: Check | Reading, name: str, ways: dict[int, To],
        retest: bool = False, again: Again | None = None,
    ) -> list[str]:  # fmt: skip
        """One check under one name, with its ways."""
        first = name == node.name
        close = block.before[-1] if block.close and first else []
        notes: list[str] = []
        if again is not None:
            notes = comment(f"Taken after the remedy of `{again.fault}`: where the complaint is "
                             f"still there, `{again.then}` is tried next.")  # fmt: skip
        elif not first:
            notes = comment(f"`{node.name}` once more, where other faults are still suspected.")
        elif retest:
            notes = comment("Only taken after a remedy: the order needs no such check before.")
        head = f"{block.block.kind} {name}: {node.title.text}" if block.block else ""
        out = ["", *close, *notes, head]
        drop = {"if", "otherwise", "answers", *([] if first else ["same as", "before", "waive"])}
        same = [] if first else [f"same as: {node.name}"]
        out += self.lines(block, drop, same)
        if node.cost.minutes is None and first:
            out.append("  # time: to be filled in")
        if not any(line.line.key == "normal" for line in block.lines):
            out += _normal(node)
        for at, outcome in enumerate(node.outcomes):
            to = ways.get(at)
            if (again or retest) and at in node.normal:
                to = None
                way = f"go {self.made.gone}"
            elif to is None or (to.place < 0 and not to.fault):
                way = f"stop {self.made.unknown}"
            else:
                way = self.way(to)
            if to is not None and to.others:
                out += comment(self.perhaps(to), "  ")
            label = outcome.label if outcome.label == "otherwise" else f"if {outcome.label}"
            out.append(f"  {label}: {way}")
        return out

    def way(self, to: To) -> str:
        return f"go {self.made.places[to.place]}" if to.place >= 0 else f"found {to.fault}"

    def perhaps(self, to: To) -> str:
        others = ", ".join(f"`{name}`" for name in to.others)
        return f"No check here tells `{to.fault}`, the likeliest, from {others}."

    def plain(self, again: Again) -> list[str]:
        """The question after a remedy where no check of the tree shows whether it was one."""
        return [
            "",
            *comment(f"No check shows whether the remedy of `{again.fault}` was one: name it "
                      "here, with its time."),
            f"check {again.name}: Is the complaint gone?",
            f"  if yes: go {self.made.gone}",
            f"  if no: found {again.then}",
        ]  # fmt: skip

    # ---- other blocks ----------------------------------------------------------------------

    def block(self, block: WrittenBlock) -> Iterator[str]:
        """A block that is no check and no case, with what the draft changes in it."""
        name = block.block.name.text if block.block else ""
        kind = block.block.kind if block.block else "use"
        yield from above(block)
        match kind:
            case "use":
                yield block.head
            case "symptom":
                to = self.starts[name]
                start = self.made.places[to.place] if to.place >= 0 else to.fault
                yield block.head
                yield from self.lines(block, {"start at"})
                if to.others:
                    yield from comment(self.perhaps(to), "  ")
                yield f"  start at: {start}"
            case "fault":
                yield from self.fault(block, name)
            case _:
                yield block.head
                yield from self.lines(block, set())

    def fault(self, block: WrittenBlock, name: str) -> Iterator[str]:
        node = self.tree.nodes[name]
        assert isinstance(node, Fault)
        again = self.made.again.get(name)
        drop = {"retest"} if again else set()
        yield block.head
        if name in self.draft.hidden:
            first = self.draft.hidden[name]
            yield from comment(
                f"Wherever this one may be, another such as `{first}` is likelier"
                " and no check tells them apart; it is tried after that.",
                "  ",
            )
        yield from self.lines(block, drop)
        if again:
            if node.retest is not None:
                yield f"  # Retest before: {node.retest.name}"
            yield f"  retest: {again.name}"
        elif name in self.made.retests:
            yield f"  retest: {self.made.retests[name]}"
        elif name in self.made.no_retest:
            yield from comment("retest: to be filled in. No check here is sure to show this"
                                " fault, so none shows that it is gone.", "  ")  # fmt: skip
        if node.share is None:
            yield "  # share: to be filled in"
        if node.remedy is None:
            yield "  # remedy: to be filled in"

    def case(self, block: WrittenBlock, found: Told) -> Iterator[str]:
        """A known job with what is read on its way now."""
        yield from (*above(block), block.head)
        for line in block.lines:
            if not isinstance(line.line.value, ast.Entry):
                yield from rows_of(line)
                continue
            entry = line.line.value
            at = found.asked.get(entry.node.text)
            if at is None:
                yield f"  # Not asked on this way: {' '.join(line.rows[0].split())}"
            elif at == entry.node.text:
                yield from rows_of(line)
            else:
                yield from (*(f"  {row}" for row in line.above), f"  {at}: {entry.value.text}")
        yield from (f"  {row}" for row in block.after)

    def lines(self, block: WrittenBlock, drop: set[str], more: Iterable[str] = ()) -> Iterator[str]:
        """The lines of a block without some of them; names that are left out are no longer in
        them, and what stands twice is in a hazard's list twice."""
        assert block.block is not None
        for line in block.lines:
            key, value = line.line.key, line.line.value
            gone: list[str] = []
            if key in drop:
                yield from (f"  {row}" for row in line.above)
                continue
            if key == "shows":
                gone = self.unshown(line)
            elif key in ("doubts", "before") or (key == "at" and block.block.kind not in ASKED):
                gone = self.renamed(line)
            elif key == "same as" and isinstance(value, ast.Word):
                gone = [f"  # same as: {value.text}"] if value.text in self.made.left_out else []
            yield from gone or rows_of(line)
        yield from (f"  {row}" for row in more)
        yield from (f"  {row}" for row in block.after)

    def unshown(self, line: WrittenLine) -> list[str]:
        """A `shows` line without checks that are left out; empty where it stays as it is."""
        shows = [one for one in values(line) if isinstance(one, ast.Show)]
        words = [f"{'maybe ' if s.maybe else ''}{s.node.text} {s.answer.text}" for s in shows]
        left_out = self.made.left_out
        kept = [w for s, w in zip(shows, words, strict=True) if s.node.text not in left_out]
        lost = [w for s, w in zip(shows, words, strict=True) if s.node.text in left_out]
        if not lost:
            return []
        out = [f"  {row}" for row in line.above]
        out += comment(f"Shows besides, at checks that are left out: {', '.join(lost)}", "  ")
        return [*out, f"  shows: {', '.join(kept)}"] if kept else out

    def renamed(self, line: WrittenLine) -> list[str]:
        """A list of nodes as the draft has them; empty where it stays as it is."""
        words = [one.text for one in values(line) if isinstance(one, ast.Word)]
        kept = [
            other
            for word in words
            if word not in self.made.left_out
            for other in (word, *self.made.copies.get(word, ()))
        ]
        if kept == words:
            return []
        out = [f"  {row}" for row in line.above]
        lost = [word for word in words if word in self.made.left_out]
        if lost:
            out += comment(f"{line.line.key}, what is left out: {', '.join(lost)}", "  ")
        key = line.line.key
        if key == "doubts" and not kept:
            kept = ["none"]
        return [*out, f"  {key}: {', '.join(kept)}"] if kept else out


def _normal(node: Check | Reading) -> list[str]:
    """The line for a good answer that would not be taken for it by itself."""
    judged = [
        at
        for at, one in enumerate(node.outcomes)
        if isinstance(one.test, Against)
        and one.test.verdict == "within"
        and one.test.quantifier in ("one", "all")
    ]
    plain = tuple(judged) or (0,)
    if node.normal and node.normal != plain:
        return [f"  normal: {node.outcomes[node.normal[0]].label}"]
    return []
