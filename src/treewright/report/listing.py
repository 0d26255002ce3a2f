"""Findings beside the source: the lines of a file, the words found underlined, block by block.

What the reviewer's page and the pages of rules show a source with. Text is shown harmlessly, as
at the terminal: nothing in it can turn the writing round. Knows nothing of HTML.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from pathlib import PurePosixPath

from treewright.record import record
from treewright.report.terminal import harmless
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Source, Span

SIGNS = {Level.FAULT: "!", Level.DOUBT: "?", Level.WORDING: "~"}
"""A mark for each level that needs no colour."""

_FOLDED = 4  # so many lines without a finding are folded away


@record
class Place:
    """Where something is written. `anchor`: the id of the line on the page, "" for none."""

    file: str
    line: int
    anchor: str
    text: str = ""


@record
class Shown:
    """A finding as a page shows it. `page`: of its rule, "" where it has none."""

    number: int
    level: str
    sign: str
    rule: str
    page: str
    message: str
    why: str
    help: str
    way: tuple[str, ...]
    place: Place
    labels: tuple[Place, ...]


@record
class Piece:
    """Words of a line; `level` is "" where nothing is wrong with them."""

    text: str
    level: str
    number: int


@record
class Row:
    """A line of source. `kind`: "head" of a block, "comment" or ""."""

    number: int
    anchor: str
    kind: str
    pieces: tuple[Piece, ...]
    findings: tuple[Shown, ...]


@record
class Run:
    """Lines that stand together. `quiet`: nothing was found in them, they may be folded."""

    rows: tuple[Row, ...]
    quiet: bool


@record
class Listing:
    """A file. `count`: its findings."""

    name: str
    runs: tuple[Run, ...]
    count: int


class Files:
    """The files of a tree, each with a name and anchors that no other place on the page has.

    Files are named as seen from the first one's folder, so that the page is the same wherever
    the tree lies.
    """

    def __init__(self, sources: Sequence[Source], first: int = 1) -> None:
        """Takes the files; anchors count them from `first`."""
        self.sources = tuple(dict.fromkeys(sources))
        self._home = PurePosixPath(self.sources[0].path).parent
        self._at = {source: at for at, source in enumerate(self.sources, first)}

    def name(self, source: Source) -> str:
        path = PurePosixPath(source.path)
        try:
            return harmless(path.relative_to(self._home).as_posix())
        except ValueError:
            return harmless(path.name)

    def place(self, span: Span, text: str = "") -> Place:
        line = span.line
        return Place(self.name(span.source), line, self.anchor(span.source, line), harmless(text))

    def anchor(self, source: Source, line: int) -> str:
        at = self._at.get(source)
        return f"line-{at}-{line}" if at and source.text else ""

    def shown(self, finding: Finding, number: int, pages: frozenset[str]) -> Shown:
        """A finding as it is shown.

        Args:
            finding: it.
            number: its number on the page.
            pages: the rules that have a page.
        """
        rule = harmless(finding.rule)
        return Shown(
            number,
            finding.level.value,
            SIGNS[finding.level],
            rule,
            f"rule-{rule}.html" if finding.rule in pages else "",
            harmless(finding.message),
            harmless(finding.why),
            harmless(finding.help),
            tuple(map(harmless, finding.way)),
            self.place(finding.span),
            tuple(self.place(label.span, label.text) for label in finding.labels),
        )

    def listing(self, source: Source, found: Mapping[int, tuple[Finding, Shown]]) -> Listing:
        """A file with the findings that are in it.

        Args:
            source: the file.
            found: all findings, by their number.
        """
        here = {n: (f.span, shown) for n, (f, shown) in found.items() if f.span.source is source}
        marks = [(span, n, shown.level) for n, (span, shown) in here.items()]
        below: dict[int, list[Shown]] = {}
        for span, shown in here.values():
            below.setdefault(span.line, []).append(shown)
        runs: list[Run] = []
        for first, last in _blocks(source):
            rows = tuple(
                Row(
                    line,
                    self.anchor(source, line),
                    _kind(source.line(line)),
                    _pieces(source, line, marks),
                    tuple(below.get(line, ())),
                )
                for line in range(first, last + 1)
            )
            quiet = not any(row.findings or any(p.level for p in row.pieces) for row in rows)
            if runs and quiet and runs[-1].quiet:
                runs[-1] = Run((*runs[-1].rows, *rows), True)
            else:
                runs.append(Run(rows, quiet))
        folded = tuple(Run(run.rows, run.quiet and len(run.rows) >= _FOLDED) for run in runs)
        return Listing(self.name(source), folded, len(here))


def head_line(source: Source, line: int) -> int:
    """The line in which the block of a line begins; 0 where it is in none."""
    while line > 0 and _kind(source.line(line)) != "head":
        line -= 1
    return line


def _kind(text: str) -> str:
    if text.lstrip().startswith("#"):
        return "comment"
    return "head" if text[:1].strip() else ""


def _blocks(source: Source) -> list[tuple[int, int]]:
    """First and last line of each block; comments and blank lines go with the one before."""
    last = len(source.line_starts)
    if last > 1 and not source.line(last):
        last -= 1
    heads = [line for line in range(1, last + 1) if _kind(source.line(line)) == "head"]
    starts = sorted({1, *heads})
    return list(zip(starts, (*(start - 1 for start in starts[1:]), last), strict=True))


def _pieces(
    source: Source, line: int, marks: Sequence[tuple[Span, int, str]]
) -> tuple[Piece, ...]:
    """A line cut where findings begin and end; where several meet, the first one is linked."""
    text = source.line(line)
    start = source.line_starts[line - 1]
    end = start + len(text)
    inside = []
    for span, number, level in marks:
        stop = max(span.end, span.start + 1)
        at, to = max(span.start, start), min(stop, end)
        if span.start <= end and stop > start and (at < to or span.line == line):
            inside.append((at, max(to, at), number, level))
    cuts = sorted({start, end, *(at for at, *_ in inside), *(to for _, to, *_ in inside)})
    pieces = []
    for at, to in pairwise(cuts):
        over = [(level, number) for first, stop, number, level in inside if first <= at < stop]
        level, number = min(over, key=lambda one: (_GRAVITY.index(one[0]), one[1]), default=("", 0))
        pieces.append(Piece(harmless(source.text[at:to]), level, number))
    for first, stop, number, level in inside:
        if first == stop:  # nothing stands there: a mark at the end of the line
            pieces.append(Piece(" ", level, number))
    return tuple(pieces)


_GRAVITY = [level.value for level in Level]
