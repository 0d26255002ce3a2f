"""Findings as JSON, for other programs.

An object {"version": 1, "findings": […]}; each finding has rule, level, path, line, column,
end_line, end_column, message, why, help and way (a list of stops). Lines and columns start
at 1, columns count code points, the end is not included. All is ASCII, so that no terminal
and no reader stumbles over author text.
"""

from __future__ import annotations

import json
from collections.abc import Iterable

from treewright.text.diagnostic import Finding

VERSION = 1


def render(findings: Iterable[Finding]) -> str:
    """The findings in the order given, as one JSON document."""
    shown = {"version": VERSION, "findings": list(map(_finding, findings))}
    return json.dumps(shown, indent=2) + "\n"


def _finding(finding: Finding) -> dict[str, str | int | list[str]]:
    source = finding.span.source
    line, column = source.position(finding.span.start)
    end_line, end_column = source.position(finding.span.end)
    return {
        "rule": finding.rule,
        "level": finding.level.value,
        "path": source.path,
        "line": line,
        "column": column,
        "end_line": end_line,
        "end_column": end_column,
        "message": finding.message,
        "why": finding.why,
        "help": finding.help,
        "way": list(finding.way),
    }
