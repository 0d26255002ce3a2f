"""Findings for people at a terminal.

Each finding with the line it is about and the very words underlined. Author text is shown
harmlessly: nothing in it can move the cursor, change a colour or turn the writing round.
Knows nothing of rules beyond what a finding carries.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections import Counter
from collections.abc import Sequence

from treewright.model.written import Waiver
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span

_COLOURS = {Level.FAULT: "1;31", Level.DOUBT: "1;33", Level.WORDING: "1;36"}
_JOINERS = "\u200c\u200d"  # parts of words in several scripts, without a width of their own
_LONGEST = 2000  # code points of one text of a finding that are shown at most
_INDENT = "  "


def render(
    findings: Sequence[Finding], colour: bool = False, width: int = 100, trees: int | None = None
) -> str:
    """All findings in the order given, and a closing line that counts them.

    Args:
        findings: what was found.
        colour: whether the terminal has colours.
        width: columns of the terminal; at least 40 are taken.
        trees: how many files were looked at; None: only count those with findings.
    """
    width = max(width, 40)
    blocks = [_finding(finding, colour, width) for finding in findings]
    return "\n\n".join([*blocks, summary(findings, trees)]) + "\n"


def waivers(waived: Sequence[tuple[Finding, Waiver]], each: bool) -> str:
    """What to say of findings that were waived: how many, or each with its reason; "": of none."""
    if not each:
        return f"{len(waived)} waived, see --waived\n" if waived else ""
    return "".join(
        f"waived: {harmless(finding.rule)} {harmless(finding.span.source.path)}:"
        f"{finding.span.line} – {harmless(' '.join(waiver.reason.split()))}\n"
        for finding, waiver in waived
    )


def summary(findings: Sequence[Finding], trees: int | None = None) -> str:
    """The closing line: "2 faults, 1 doubt in 1 of 4 trees"."""
    counts = Counter(finding.level for finding in findings)
    parts = [_count(counts[level], level.value) for level in Level if counts[level]]
    files = len({finding.span.source.path for finding in findings})
    if trees is None:
        where = _count(files, "tree") if files else ""
    elif parts and trees > 1:
        where = f"{files} of {_count(trees, 'tree')}"
    else:
        where = _count(trees, "tree")
    return (", ".join(parts) or "nothing found") + (f" in {where}" if where else "")


def _count(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _finding(finding: Finding, colour: bool, width: int) -> str:
    ink = _COLOURS[finding.level]
    level = _paint(f"{finding.level.value} {harmless(finding.rule)}", ink, colour)
    lines = [f"{level}  {_place(finding.span)}"]
    lines += _wrapped(finding.message, "", width, bold=colour)
    lines += _excerpt(finding.span, ink, colour, width)
    for label in finding.labels:
        same = label.span.source is finding.span.source
        place = f"line {label.span.line}" if same else _place(label.span)
        lines += _wrapped(f"{label.text} ({place}):", "", width)
        lines += _excerpt(label.span, "1", colour, width)
    for word, text in (("why", finding.why), ("help", finding.help)):
        if text:
            lines += _wrapped(text, f"{word}: ", width)
    if finding.way:
        lines += _wrapped(" → ".join(finding.way), "way: ", width)
    return "\n".join(lines)


def _place(span: Span) -> str:
    line, column = span.source.position(span.start)
    return f"{harmless(span.source.path)}:{line}:{column}"


def _paint(text: str, ink: str, colour: bool) -> str:
    return f"\x1b[{ink}m{text}\x1b[0m" if colour else text


def _wrapped(text: str, head: str, width: int, bold: bool = False) -> list[str]:
    if len(text) > _LONGEST:
        text = text[: _LONGEST - 1] + "…"
    lines = textwrap.wrap(
        harmless(text),
        width,
        initial_indent=_INDENT + head,
        subsequent_indent=_INDENT + " " * len(head),
        break_on_hyphens=False,
    )
    return [_INDENT + _paint(line[len(_INDENT) :], "1", bold) for line in lines]


def _excerpt(span: Span, ink: str, colour: bool, width: int) -> list[str]:
    """The line a span starts on, as much of it as there is room for, and the underline."""
    source = span.source
    number = span.line
    start = source.line_starts[number - 1]
    last = number == len(source.line_starts)
    end = len(source.text) if last else source.line_starts[number] - 1
    margin = f"{_INDENT}{number:>5} | "
    room = width - len(margin)
    first, stop = _window(source.text, start, end, span.start, room)
    under_end = max(min(span.end, stop), span.start)
    ahead = ("…" if first > start else "") + harmless(source.text[first : span.start])
    marked = harmless(source.text[span.start : under_end])
    rest = harmless(source.text[under_end:stop]) + ("…" if stop < end else "")
    under = " " * (len(margin) + cells(ahead)) + _paint("^" * max(cells(marked), 1), ink, colour)
    return [f"{margin}{ahead}{marked}{rest}".rstrip(), under]


def _window(text: str, start: int, end: int, at: int, room: int) -> tuple[int, int]:
    """The part of a line that is shown: it holds `at` and is at most `room` columns wide."""
    if end - start <= room and cells(harmless(text[start:end])) <= room:
        return start, end
    room -= 2  # a mark at either end that the line goes on
    first, used = at, 0
    while first > start and at - first < room and used < room // 3:
        first -= 1
        used += cells(harmless(text[first]))
    stop = at
    while stop < end and stop - at < 2 * room:
        used += cells(harmless(text[stop]))
        if used > room:
            break
        stop += 1
    return first, stop


def harmless(text: str) -> str:
    """Text in which every character that could steer a terminal is replaced by a picture.

    Controls become the signs of Unicode's Control Pictures; other invisible steering marks
    (such as those that turn the direction of writing) become U+FFFD.
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_harmless, text))


def _harmless(sign: str) -> str:
    if sign == "\t":
        return " "
    if sign == "\x7f":
        return "␡"
    if sign < " ":
        return chr(0x2400 + ord(sign))
    if sign in _JOINERS:
        return sign
    return "\ufffd" if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp") else sign


def cells(text: str) -> int:
    """How many columns a text takes: two for a wide character, none for a combining mark."""
    if text.isascii():
        return len(text)
    return sum(map(_cells, text))


def _cells(sign: str) -> int:
    if sign in _JOINERS or unicodedata.category(sign) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1
