"""Findings as SARIF 2.1.0 (OASIS), for code hosts and editors.

One run with one result a finding. Columns count UTF-16 code units, as the file says; they are
counted here from the code points of a span. Paths are relative and percent-encoded. What the
texts of rules say is handed in: this module does not know the linter.
"""

from __future__ import annotations

import json
import posixpath
import re
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias
from urllib.parse import quote

from treewright.model.written import Waiver
from treewright.record import record
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
_LEVELS = {Level.FAULT: "error", Level.DOUBT: "warning", Level.WORDING: "note"}
_BASE = "TREES"
_DRIVE = re.compile(r"[A-Za-z]:/")
_LINK = re.compile(r"\[(?=[^\]\n]*\]\()")
_STRAY = re.compile("[\ud800-\udfff]")

_Json: TypeAlias = dict[str, Any]


@record
class RuleText:
    """What is said of a rule.

    Attributes:
        name: as findings name it.
        level: of its findings.
        short: one sentence.
        full: what it does and why, in plain text; may be "".
        help: how to mend what it finds, with examples, in plain text; may be "".
    """

    name: str
    level: Level
    short: str
    full: str = ""
    help: str = ""


def render(
    findings: Sequence[Finding],
    rules: Sequence[RuleText],
    waived: Sequence[tuple[Finding, Waiver]] | None = None,
) -> str:
    """The findings in the order given, then the waived ones, as one SARIF document.

    Args:
        findings: what was found.
        rules: the texts of the rules; one that has no text here is only named by its results.
        waived: findings that the author let pass, with the waiver; None: not looked at, and
            nothing is said of what is suppressed.
    """
    suppressed = list(waived or ())
    sources = [
        span.source.path
        for finding in (*findings, *(finding for finding, _ in suppressed))
        for span in (finding.span, *(label.span for label in finding.labels))
    ]
    sources += [waiver.span.source.path for _, waiver in suppressed]
    known = {rule.name: at for at, rule in enumerate(rules)}
    writer = _Writer(_uris(dict.fromkeys(sources)), known)
    results = [writer.result(finding) for finding in findings]
    if waived is not None:
        # The standard: all results of a run say whether they are suppressed, or none does.
        for result in results:
            result["suppressions"] = []
        for finding, waiver in suppressed:
            results.append(writer.result(finding) | {"suppressions": [writer.suppression(waiver)]})
    run = {
        "tool": {"driver": {"name": "Treewright", "rules": [_rule(rule) for rule in rules]}},
        "columnKind": "utf16CodeUnits",
        "originalUriBaseIds": {
            _BASE: {"description": _message("The folder in which the trees were looked at.")}
        },
        "artifacts": [
            {"location": writer.artifact(path, with_index=False), "encoding": "UTF-8"}
            for path in writer.uris
        ],
        "results": results,
    }
    return json.dumps({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}, indent=2) + "\n"


@record
class _Writer:
    uris: dict[str, str]  # by path, in the order in which the files are first named
    index: dict[str, int]  # of the rules

    def result(self, finding: Finding) -> _Json:
        said = [finding.message, finding.why, finding.help]
        made: _Json = {"ruleId": finding.rule}
        if finding.rule in self.index:
            made["ruleIndex"] = self.index[finding.rule]
        made["level"] = _LEVELS[finding.level]
        made["message"] = _message(" ".join(_sentence(text) for text in said if text))
        made["locations"] = [{"physicalLocation": self.place(finding.span)}]
        if finding.labels:
            made["relatedLocations"] = [
                {
                    "id": number,
                    "physicalLocation": self.place(label.span),
                    "message": _message(_sentence(label.text)),
                }
                for number, label in enumerate(finding.labels, 1)
            ]
        if finding.way:
            made["codeFlows"] = [self.way(finding)]
        return made

    def way(self, finding: Finding) -> _Json:
        """The way to the trouble; its last stop is where the finding is."""
        stops: list[_Json] = [{"location": {"message": _message(stop)}} for stop in finding.way]
        stops[-1]["location"]["physicalLocation"] = self.place(finding.span)
        return {
            "message": _message("The shortest way there."),
            "threadFlows": [{"locations": stops}],
        }

    def suppression(self, waiver: Waiver) -> _Json:
        return {
            "kind": "inSource",
            "justification": _STRAY.sub("\ufffd", waiver.reason),
            "location": {"physicalLocation": self.place(waiver.span)},
        }

    def place(self, span: Span) -> _Json:
        start_line, start_column = _position(span, span.start)
        end_line, end_column = _position(span, max(span.end, span.start))
        return {
            "artifactLocation": self.artifact(span.source.path),
            "region": {
                "startLine": start_line,
                "startColumn": start_column,
                "endLine": end_line,
                "endColumn": end_column,
            },
        }

    def artifact(self, path: str, with_index: bool = True) -> _Json:
        uri = self.uris[path]
        made: _Json = {"uri": uri}
        if not uri.startswith("../"):  # what leads out of the folder does not lie in it
            made["uriBaseId"] = _BASE
        if with_index:
            made["index"] = list(self.uris).index(path)
        return made


def _rule(rule: RuleText) -> _Json:
    made: _Json = {"id": rule.name, "shortDescription": _message(_sentence(rule.short))}
    if rule.full:
        made["fullDescription"] = _message(rule.full)
    if rule.help:
        made["help"] = _message(rule.help)
    made["defaultConfiguration"] = {"level": _LEVELS[rule.level]}
    return made


def _position(span: Span, offset: int) -> tuple[int, int]:
    """Line and column of an offset, both from 1, the column in UTF-16 code units."""
    source = span.source
    line, column = source.position(offset)
    before = source.text[offset - column + 1 : offset]
    return line, len(before) + sum(char > "\uffff" for char in before) + 1


def _message(text: str) -> _Json:
    """A message object whose text means itself: no placeholder and no link is read from it."""
    text = _STRAY.sub("\ufffd", text).replace("{", "{{").replace("}", "}}")
    return {"text": _LINK.sub(r"\\[", text)}


def _sentence(text: str) -> str:
    end = "" if text.endswith((".", "?", "!", "…")) else "."
    return text[:1].upper() + text[1:] + end


def _uris(paths: Iterable[str]) -> dict[str, str]:
    """A relative URI for each path; those that are absolute from the folder they share."""
    found = {path: posixpath.normpath(path.replace("\\", "/")) for path in paths}
    whole = [path for path in found.values() if _is_absolute(path)]
    shared = posixpath.commonpath([posixpath.dirname(path) for path in whole]) if whole else ""
    return {
        path: quote(posixpath.relpath(clean, shared) if _is_absolute(clean) else clean, safe="/")
        for path, clean in found.items()
    }


def _is_absolute(path: str) -> bool:
    return path.startswith("/") or bool(_DRIVE.match(path))
