"""Writes a drafted tree: the author's file with the ways put in, and nothing of it lost.

Blocks, lines and comments of the file stay as they are written. New are the ways of checks,
the starts of symptoms, checks that stand a second time, the ends that were lacking, and
comments on what is still to be filled in. What no way leads to is kept as a comment.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap

from treewright.draft.cases import Told, told
from treewright.draft.names import Again, Names, names, place_of
from treewright.model.tree import Against, Check, Fault, Reading, Tree
from treewright.reason.answers import Answers
from treewright.reason.draft import Draft, To
from treewright.syntax import ast
from treewright.syntax.rows import WrittenBlock, WrittenFile, WrittenLine, written

_WIDTH = 92
_ASKED = ("check", "reading")
_ON_THE_WAY = (*_ASKED, "step")
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
        self.starts = {begun.symptom: begun.to for begun in draft.begun}
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
        out += ["", *_joined(self.file.end)] if self.file.end else []
        return "\n".join([*out, *self.leftovers()]) + "\n"

    # ---- checks ----------------------------------------------------------------------------

    def checks(
        self, staged: list[tuple[WrittenBlock | None, list[WrittenBlock]]]
    ) -> Iterator[str]:
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
            target += [(last, self.plain(again)) for again in self.made.again.values()
                       if not again.of]  # fmt: skip
        for _, stage, above, rows in (plain, *sorted(made, key=lambda one: one[0])):
            if stage is not None and not rows:
                yield from self.comment_out(stage)
                continue
            if stage is not None:
                yield from self.block(stage)
            if above:
                yield from ("", *_joined(above))
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
            yield self.rank[own], self.check(block, node, own, place.ways)
        if name in self.made.only_retests:
            ways = {at: To() for at in range(len(node.outcomes))}
            yield len(self.rank), self.check(block, node, name, ways, retest=True)
        for again in self.made.again.values():
            if again.of == name:
                ways = {at: To(-1, again.then) for at in self.answers.given(again.then, node)}
                yield len(self.rank), self.check(block, node, again.name, ways, again=again)

    def check(
        self, block: WrittenBlock, node: Check | Reading, name: str, ways: dict[int, To],
        retest: bool = False, again: Again | None = None,
    ) -> list[str]:  # fmt: skip
        """One check under one name, with its ways."""
        first = name == node.name
        close = block.before[-1] if block.close and first else []
        notes: list[str] = []
        if again is not None:
            notes = _comment(f"Taken after the remedy of `{again.fault}`: where the complaint is "
                             f"still there, `{again.then}` is tried next.")  # fmt: skip
        elif not first:
            notes = _comment(f"`{node.name}` once more, where other faults are still suspected.")
        elif retest:
            notes = _comment("Only taken after a remedy: the order needs no such check before.")
        head = f"{block.block.kind} {name}: {node.title.text}" if block.block else ""
        rows = ["", *close, *notes, head]
        drop = {"if", "otherwise", "answers", *([] if first else ["same as", "before", "waive"])}
        same = [] if first else [f"same as: {node.name}"]
        rows += self.lines(block, drop, same)
        if node.cost.minutes is None and first:
            rows.append("  # time: to be filled in")
        if not any(line.line.key == "normal" for line in block.lines):
            rows += _normal(node)
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
                rows += _comment(self.perhaps(to), "  ")
            label = outcome.label if outcome.label == "otherwise" else f"if {outcome.label}"
            rows.append(f"  {label}: {way}")
        return rows

    def way(self, to: To) -> str:
        return f"go {self.made.places[to.place]}" if to.place >= 0 else f"found {to.fault}"

    def perhaps(self, to: To) -> str:
        others = ", ".join(f"`{name}`" for name in to.others)
        return f"No check here tells `{to.fault}`, the likeliest, from {others}."

    def plain(self, again: Again) -> list[str]:
        """The question after a remedy where no check of the tree shows whether it was one."""
        return [
            "",
            *_comment(f"No check shows whether the remedy of `{again.fault}` was one: name it "
                      "here, with its time."),
            f"check {again.name}: Is the complaint gone?",
            f"  if yes: go {self.made.gone}",
            f"  if no: found {again.then}",
        ]  # fmt: skip

    # ---- other blocks ----------------------------------------------------------------------

    def block(self, block: WrittenBlock) -> Iterator[str]:
        """A block that is no check, with what the draft changes in it."""
        name = block.block.name.text if block.block else ""
        kind = block.block.kind if block.block else "use"
        if kind in ("handoff", "done") and name in self.made.left_out:
            yield from self.comment_out(block)
            return
        if kind == "case":
            yield from self.case(block, name)
            return
        yield from _above(block)
        match kind:
            case "use":
                yield block.head
            case "symptom":
                to = self.starts[name]
                start = self.made.places[to.place] if to.place >= 0 else to.fault
                yield block.head
                yield from self.lines(block, {"start at"})
                if to.others:
                    yield from _comment(self.perhaps(to), "  ")
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
            yield from _comment(f"Wherever this one may be, another such as `{first}` is likelier"
                                " and no check tells them apart; it is tried after that.", "  ")
        yield from self.lines(block, drop)
        if again:
            if node.retest is not None:
                yield f"  # Retest before: {node.retest.name}"
            yield f"  retest: {again.name}"
        elif name in self.made.retests:
            yield f"  retest: {self.made.retests[name]}"
        elif name in self.made.no_retest:
            yield from _comment("retest: to be filled in. No check here is sure to show this"
                                " fault, so none shows that it is gone.", "  ")  # fmt: skip
        if node.share is None:
            yield "  # share: to be filled in"
        if node.remedy is None:
            yield "  # remedy: to be filled in"

    def ends(self) -> Iterator[str]:
        """The ends that ways lead to and the file does not have."""
        if self.made.cured and self.made.gone not in self.tree.nodes:
            yield from ("", f"done {self.made.gone}: The complaint is gone")
        if self.made.stops and self.made.unknown not in self.tree.nodes:
            yield from (
                "",
                *_comment("Where an answer fits none of the faults that are left, or a remedy was"
                          " no cure."),
                f"handoff {self.made.unknown}: What was found fits no fault of this tree",
                "  # to: who takes over is to be filled in",
            )

    def case(self, block: WrittenBlock, name: str) -> Iterator[str]:
        """A known job with what is read on its way now; a comment where it goes astray."""
        found: Told = told(self.tree, self.tree.cases[name], self.draft, self.made)
        if found.trouble:
            yield from self.comment_out(block, found.trouble)
            return
        yield from (*_above(block), block.head)
        for line in block.lines:
            if not isinstance(line.line.value, ast.Entry):
                yield from _rows(line)
                continue
            entry = line.line.value
            at = found.asked.get(entry.node.text)
            if at is None:
                yield f"  # Not asked on this way: {' '.join(line.rows[0].split())}"
            elif at == entry.node.text:
                yield from _rows(line)
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
            elif key in ("doubts", "before") or (key == "at" and block.block.kind not in _ASKED):
                gone = self.renamed(line)
            elif key == "same as" and isinstance(value, ast.Word):
                gone = [f"  # same as: {value.text}"] if value.text in self.made.left_out else []
            yield from gone or _rows(line)
        yield from (f"  {row}" for row in more)
        yield from (f"  {row}" for row in block.after)

    def unshown(self, line: WrittenLine) -> list[str]:
        """A `shows` line without checks that are left out; empty where it stays as it is."""
        shows = [one for one in _values(line) if isinstance(one, ast.Show)]
        words = [f"{'maybe ' if s.maybe else ''}{s.node.text} {s.answer.text}" for s in shows]
        out = self.made.left_out
        kept = [w for s, w in zip(shows, words, strict=True) if s.node.text not in out]
        lost = [w for s, w in zip(shows, words, strict=True) if s.node.text in out]
        if not lost:
            return []
        rows = [f"  {row}" for row in line.above]
        rows += _comment(f"Shows besides, at checks that are left out: {', '.join(lost)}", "  ")
        return [*rows, f"  shows: {', '.join(kept)}"] if kept else rows

    def renamed(self, line: WrittenLine) -> list[str]:
        """A list of nodes as the draft has them; empty where it stays as it is."""
        words = [one.text for one in _values(line) if isinstance(one, ast.Word)]
        kept = [
            other
            for word in words
            if word not in self.made.left_out
            for other in (word, *self.made.copies.get(word, ()))
        ]
        if kept == words:
            return []
        rows = [f"  {row}" for row in line.above]
        lost = [word for word in words if word in self.made.left_out]
        if lost:
            rows += _comment(f"{line.line.key}, what is left out: {', '.join(lost)}", "  ")
        key = line.line.key
        if key == "doubts" and not kept:
            kept = ["none"]
        return [*rows, f"  {key}: {', '.join(kept)}"] if kept else rows

    def comment_out(self, block: WrittenBlock, why: str = "") -> Iterator[str]:
        """Keeps a block as a comment at the end of the file."""
        rows = _comment(why) if why else []
        rows += [*(block.before[-1] if block.close else []), f"# {block.head}"]
        for line in block.lines:
            rows += [f"# {row}".rstrip() for row in _rows(line)]
        rows += [f"#   {row}" for row in block.after]
        self.left.append(rows)
        yield from ("", *_joined(block.before[:-1] if block.close else block.before))

    def leftovers(self) -> Iterator[str]:
        if self.left:
            yield from ("", f"# {_RULE} Left out of this draft {_RULE}", "")
            yield from _comment("Checks that tell nothing apart here which is not known already, "
                                "ends that no way leads to, cases that lack an answer.")
            for rows in self.left:
                yield from ("", *rows)


# ---- pieces of text --------------------------------------------------------------------------


def _above(block: WrittenBlock) -> Iterator[str]:
    """The comments above a block; the last ones directly on it where they stood so."""
    yield ""
    for at, group in enumerate(block.before, 1):
        yield from group
        if not (block.close and at == len(block.before)):
            yield ""


def _values(line: WrittenLine) -> tuple[object, ...]:
    value = line.line.value
    return value if isinstance(value, tuple) else ()


def _rows(line: WrittenLine) -> Iterator[str]:
    """The rows of a line as they are written, with the comments above them."""
    yield from (f"  {row}" for row in line.above)
    first, *more = line.rows
    span = line.line.span
    source = span.source.text
    indent = span.start - (source.rfind("\n", 0, span.start) + 1)
    yield "  " + first
    for row in more:
        # As deep below the first row as it was; a comment may stand anywhere.
        deep = len(row) - len(row.lstrip(" "))
        yield " " * max(3, deep - indent + 2) + row.lstrip(" ") if row.strip() else ""


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


def _comment(text: str, indent: str = "") -> list[str]:
    return [f"{indent}# {row}" for row in wrap(text, _WIDTH - len(indent), break_on_hyphens=False)]


def _joined(groups: Iterable[Iterable[str]]) -> list[str]:
    """Groups of comments, a blank row between them."""
    rows: list[str] = []
    for group in groups:
        rows += [*([""] if rows else []), *group]
    return rows
