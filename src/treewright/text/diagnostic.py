"""The one kind of finding that every stage reports.

A finding names its rule, the place, what is wrong in the words of the trade, why that
matters at the machine, and what to write instead. Each output format (report/) is a small
file above this one. Knows nothing of the language or of rules.
"""

from __future__ import annotations

from dataclasses import field
from enum import StrEnum

from treewright.record import record
from treewright.text.source import Span


class Level(StrEnum):
    """How grave a finding is."""

    FAULT = "fault"  # the tree must not be printed
    DOUBT = "doubt"  # a reviewer decides
    WORDING = "wording"  # it could be said better


@record
class Label:
    """A second place that belongs to a finding ("first written here")."""

    span: Span
    text: str


@record
class Fix:
    """The one change that mends a finding beyond doubt: one place, one replacement.

    Attributes:
        span: what is replaced.
        replacement: what stands there then; as many rows as there were.
        text: what was done, in the words of the trade, for a report: "`go` is now `found`".
    """

    span: Span
    replacement: str
    text: str


@record
class Finding:
    """One thing found wrong.

    Attributes:
        rule: its rule's name; "syntax" for text that does not parse, "file" for a file that
            cannot be read.
        message: one sentence in lower case that stands alone, without a full stop.
        why: why it matters at the machine; may be "".
        help: what to write instead; may be "".
        way: the shortest way to the trouble, one stop an entry:
            ("symptom dead", "2 supply-voltage: yes", "5 capacitor"); empty where none.
        fix: how to mend it, where that is certain; no part of what was found, so that two
            findings that differ in it alone are one.
    """

    rule: str
    level: Level
    message: str
    span: Span
    why: str = ""
    help: str = ""
    labels: tuple[Label, ...] = ()
    way: tuple[str, ...] = ()
    fix: Fix | None = field(default=None, compare=False)


def in_order(findings: list[Finding]) -> list[Finding]:
    """Findings by file, place and rule, each once: a stable order for every report."""
    return sorted(
        dict.fromkeys(findings),
        key=lambda f: (f.span.source.path, f.span.start, f.span.end, f.rule, f.message),
    )
