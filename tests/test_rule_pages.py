"""The pages of rules: each with its example, and the list of them."""

from __future__ import annotations

import re
from html import unescape

from test_lint import load
from test_review import well_formed

from treewright.lint.rules import RULES
from treewright.project import reviewed
from treewright.report import explain


def test_pages_of_rules_show_the_finding_at_its_line() -> None:
    for rule in RULES:
        text = explain.page(rule.name)
        well_formed(text)
        parts = rule.parts()
        loaded = load(parts["Not so"] + "\n", "example.tree")
        findings = reviewed(loaded).findings
        assert any(f.rule == rule.name for f in findings)
        for n, finding in enumerate(findings, 1):
            line = text.split(f'<li id="line-1-{finding.span.line}"')[1].split("<li id=")[0]
            assert f'id="finding-{n}"' in line
            assert finding.message in unescape(line)
        for at, heading in ((1, "Not so"), (2, "But so")):
            for number, written in enumerate(parts[heading].splitlines(), 1):
                line = text.split(f'<li id="line-{at}-{number}"')[1]
                code = line.split("<code>")[1].split("</code>")[0]
                assert unescape(re.sub("<[^>]*>", "", code)).strip("\n") == written


def test_pages_of_rules_mark_the_lines_that_are_new() -> None:
    text = explain.page("gap")
    lines = text.split("<li id=")[1:]
    fresh = [line for line in lines if re.match(r'"[^"]+" class="[^"]*new', line)]
    assert any("if above 8.6 bar: found regulator" in line for line in fresh)
    assert not any("if 8.0 to 8.6 bar" in line for line in fresh)


def test_the_list_of_rules_leads_to_every_page() -> None:
    pages = dict(explain.pages())
    found = well_formed(pages["rules.html"])
    assert sorted(found.links) == sorted(name for name in pages if name != "rules.html")
    for rule in RULES:
        part = pages["rules.html"].split(f"{rule.level.value.capitalize()}s: ")[1]
        assert f"rule-{rule.name}.html" in part.split("</section>")[0]
