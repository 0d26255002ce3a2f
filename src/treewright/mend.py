"""Mends what can be mended for certain: the fixes of findings, each proven by looking again.

A file is only written with fewer findings in it and no new one; but for what is replaced, not
a byte of it changes. What a finding hid is not new: of a block that could not be read nothing
else had been said. At the place of the fix, though, nothing may be found at all.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from treewright.lint.review import Review
from treewright.outputs import rewrite
from treewright.project import Loaded, Project, reviewed
from treewright.record import record
from treewright.text.diagnostic import Finding, Fix
from treewright.text.source import Source, Unreadable, decoded

_ROUNDS = 50  # of one file; each makes findings fewer, so that more is a slip of this program
_ROW_END = re.compile(r"(\r\n|\r|\n)")
_ALWAYS = ("syntax", "file")  # rules that look at a file as far as it can be read


@record
class Change:
    """What was done to a file: at which line, and what."""

    path: str
    line: int
    text: str


def mend(
    paths: Sequence[Path],
    look: Callable[[Sequence[Path]], Review],
    tell: Callable[[Change], None],
) -> None:
    """Mends files as far as that is certain, and until there is nothing more to mend.

    Args:
        paths: the files; no other is touched, no library beside them either.
        look: finds what is wrong in files.
        tell: is told of each change once it is written.

    Raises:
        UsageError: a file cannot be written.
    """
    left = {path.as_posix(): path for path in paths}
    while True:
        mendable = {f.fix.span.source.path for f in look(paths).findings if f.fix}
        files = [path for name, path in left.items() if name in mendable]
        changed = sum(_mend_file(path, tell) for path in files)
        if not changed:
            return


def _mend_file(path: Path, tell: Callable[[Change], None]) -> bool:
    """Mends one file; says whether anything was changed."""
    done = False
    for _ in range(_ROUNDS):
        state = _read(path)
        chosen = _first_that_helps(state) if state is not None else None
        if chosen is None:
            break
        fixes, content = chosen
        rewrite(path, content)
        done = True
        for fix in fixes:
            tell(Change(path.as_posix(), _rows(fix)[0], fix.text))
    return done


@record
class _State:
    """A file and what was found in it."""

    path: Path
    content: bytes
    loaded: Loaded
    findings: tuple[Finding, ...]

    @property
    def source(self) -> Source:
        assert self.loaded.tree is not None
        return self.loaded.tree.source


def _read(path: Path, content: bytes | None = None) -> _State | None:
    """A file as it is, or as it would be; None where it cannot be read at all."""
    project = Project()
    try:
        if content is None:
            content = path.read_bytes()
        project.take(path, decoded(content, path.as_posix(), path.as_posix()))
    except (OSError, Unreadable):
        return None
    loaded = project.load(path)
    return _State(path, content, loaded, reviewed(loaded).findings)


def _first_that_helps(before: _State) -> tuple[list[Fix], bytes] | None:
    """All fixes together, or else the first that does good alone; with what is then written."""
    fixes = _apart(before)
    for chosen in (fixes, *([fix] for fix in fixes)) if fixes else ():
        content = _applied(before.content, chosen)
        after = _read(before.path, content)
        if after is not None and _is_better(before, after, chosen):
            return chosen, content
    return None


def _apart(state: _State) -> list[Fix]:
    """The fixes of a file that do not overlap, in order."""
    found = {f.fix: None for f in state.findings if f.fix and f.fix.span.source is state.source}
    chosen: list[Fix] = []
    for fix in sorted(found, key=lambda fix: (fix.span.start, fix.span.end)):
        if not chosen or fix.span.start >= chosen[-1].span.end:
            chosen.append(fix)
    return chosen


def _applied(content: bytes, fixes: Sequence[Fix]) -> bytes:
    """The content of a file with fixes made; ends of rows stay as they are."""
    text = content.decode("utf-8")
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    pieces = _ROW_END.split(text[len(mark) :])  # rows and, between them, their ends
    for fix in reversed(fixes):
        first, last = _rows(fix)
        start, end = (
            fix.span.source.position(at)[1] - 1 for at in (fix.span.start, fix.span.end)
        )
        rows = fix.replacement.split("\n")
        assert len(rows) == last - first + 1
        rows[-1] += pieces[2 * (last - 1)][end:]
        rows[0] = pieces[2 * (first - 1)][:start] + rows[0]
        pieces[2 * (first - 1) : 2 * last - 1 : 2] = rows
    return (mark + "".join(pieces)).encode("utf-8")


def _rows(fix: Fix) -> tuple[int, int]:
    """The first and the last line that a fix changes, from 1."""
    source = fix.span.source
    return source.position(fix.span.start)[0], source.position(fix.span.end)[0]


# ---- whether it is better ------------------------------------------------------------------


def _is_better(before: _State, after: _State, fixes: Sequence[Fix]) -> bool:
    """Whether there are fewer findings, and none that had not been there."""
    touched = [_rows(fix) for fix in fixes]
    there = Counter(map(_said, before.findings))
    here = Counter(_said(f) for f in after.findings if _counts(f, before, after, touched))
    return not here - there and here.total() < there.total()


def _said(finding: Finding) -> tuple[str, str, str]:
    """What a finding says, wherever in the file it has come to stand."""
    return finding.span.source.path, finding.rule, finding.message


def _counts(
    finding: Finding, before: _State, after: _State, touched: Sequence[tuple[int, int]]
) -> bool:
    """Whether a finding had been said before if it had been there, or is at the place of a fix."""
    line = finding.span.line
    mine = finding.span.source is after.source
    if before.loaded.sound or finding.rule in _ALWAYS:
        return True
    if mine and any(first <= line <= last for first, last in touched):
        return True
    hidden = mine and any(first <= line <= last for first, last in _broken(before))
    return finding.rule in _of_one_block() and not hidden


def _broken(state: _State) -> Iterator[tuple[int, int]]:
    """The lines of the blocks that could not be read; a fix leaves the count of rows as it is."""
    assert state.loaded.tree is not None
    for span in state.loaded.tree.broken:
        if span.source is state.source:
            yield span.line, span.source.position(span.end)[0]


def _of_one_block() -> frozenset[str]:
    from treewright.lint.rules import RULES

    return frozenset(rule.name for rule in RULES if rule.of_one_block)
