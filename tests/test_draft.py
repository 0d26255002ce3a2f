"""Drafted trees: every fault walked ends where it should, in the minutes that were claimed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from demos import DEMOS
from draft_cases import bare, ends_of, in_turn, stripped

from treewright.cli.main import main
from treewright.cli.tidy import as_shown
from treewright.draft.make import Drafted, make
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.project import Project
from treewright.reason.draft_merge import Spot, merged
from treewright.syntax.tidy import tidy
from treewright.text.diagnostic import Level
from treewright.text.source import Source
from treewright.usage import UsageError

TREES = Path(__file__).parents[1] / "trees"


def drafted(text: str, path: Path = TREES / "drafted.tree") -> tuple[Drafted, Tree]:
    """A draft and what it means; it is tidy and has no fault."""
    made = make(path, as_shown, Source(path.as_posix(), text))
    assert made.text, [finding.message for finding in made.findings]
    again = Source(path.as_posix(), made.text)
    assert tidy(again, as_shown) == (made.text, [])
    faults = [finding for finding in made.findings if finding.level is Level.FAULT]
    assert not faults, [(finding.message, finding.way) for finding in faults]
    project = Project()
    project.take(path, again)
    tree = project.load(path).tree
    assert tree is not None
    return made, tree


def alike(tree: Tree) -> dict[str, frozenset[object]]:
    """What each fault shows, where it is not the normal answer: those alike are one group."""
    found = {}
    for fault in tree.nodes.values():
        if isinstance(fault, Fault):
            row: dict[str, set[int | None]] = {}
            for one in fault.shows:
                node = tree.nodes[one.node.name]
                assert isinstance(node, Check | Reading)
                row.setdefault(node.name, set()).add(one.outcome)
                if one.maybe:
                    row[node.name] |= set(node.normal)
            found[fault.name] = frozenset(
                (name, frozenset(given))
                for name, given in row.items()
                if given != set(getattr(tree.nodes[name], "normal", ()))
            )
    return found


def check(made: Drafted, tree: Tree) -> None:
    """Walks every fault from each symptom it comes with, and all ways for what must come first."""
    assert made.ways is not None
    assert in_turn(tree)
    assert not [finding for finding in made.findings if finding.rule == "out-of-turn"]
    rows = alike(tree)
    perhaps = {
        (to.fault, other)
        for place in made.ways.places
        for to in place.ways.values()
        for other in to.others
    } | {(begun.to.fault, other) for begun in made.ways.begun for other in begun.to.others}
    for begun in made.ways.begun:
        faults = list(belonging(tree, begun.symptom))
        shares = [fault.share for fault in faults if fault.share is not None]
        mean = sum(shares, Fraction(0)) / len(shares) if shares else Fraction(1)
        total = whole = Fraction(0)
        for fault in faults:
            share = mean if fault.share is None else fault.share
            whole += share
            parts = Fraction(0)
            for end, part, minutes in ends_of(tree, fault, begun.symptom):
                assert rows.get(end) == rows[fault.name] or (end, fault.name) in perhaps, (
                    f"{fault.name} ends at {end}"
                )
                total += share * part * minutes
                parts += part
            assert parts == 1
        assert total / whole == begun.expected
        assert begun.at_least <= begun.expected
        assert begun.proven == (begun.at_least == begun.expected)


def belonging(tree: Tree, symptom: str) -> Iterator[Fault]:
    for node in tree.nodes.values():
        if isinstance(node, Fault):
            named = [name.name for name in node.symptoms]
            if not named or symptom in named:
                yield node


@pytest.mark.parametrize("seed", range(60))
def test_every_fault_is_found_in_the_minutes_claimed(seed: int) -> None:
    text = bare(seed, faults=2 + seed % 7, checks=1 + seed % 6)
    made, tree = drafted(text)
    check(made, tree)
    assert drafted(text)[0].text == made.text


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_demos_without_their_ways(path: Path) -> None:
    made, tree = drafted(stripped(path.read_text(encoding="utf-8")), path)
    check(made, tree)


CASES = Path(__file__).parent / "cases" / "draft"
NOTES = sorted(CASES.glob("*.tree"))


@pytest.mark.parametrize("path", NOTES, ids=lambda path: path.stem)
def test_drafts_as_they_are_written(
    path: Path, golden: Callable[[Path, str], None]
) -> None:
    made, _ = drafted(path.read_text(encoding="utf-8"), path)
    golden(path.with_suffix(".draft"), made.text)


@pytest.mark.parametrize("path", [*NOTES, *DEMOS], ids=lambda p: p.stem)
def test_nothing_that_was_written_is_lost(path: Path) -> None:
    """Every line and comment is there, but for answers and starts, and lists that have grown."""
    text = path.read_text(encoding="utf-8")
    text = text if path in NOTES else stripped(text)
    made, _ = drafted(text, path)
    words = " ".join(made.text.replace("\n#", "\n").split())
    lists = ("answers:", "shows:", "at:", "doubts:", "same as:", "retest:", "start at:")
    for row in tidy(Source("a.tree", text), as_shown)[0].split("\n"):
        said = " ".join(row.split()).removeprefix("# ")
        one_of_a_list = said.startswith(lists) or (row.startswith("    ") and "," in row)
        if not one_of_a_list and not said.startswith(("if ", "then:")):
            assert said in words, row
    for name in ("danger", "warning", "caution", "notice", "symptom", "condition", "procedure"):
        assert made.text.count(f"\n{name} ") == f"\n{text}".count(f"\n{name} ")


@pytest.mark.parametrize("path", NOTES, ids=lambda path: path.stem)
def test_what_stands_twice_has_the_hazards_of_the_first(path: Path) -> None:
    _, tree = drafted(path.read_text(encoding="utf-8"), path)
    copies = [node for node in tree.nodes.values() if getattr(node, "same_as", None)]
    assert copies
    for node in copies:
        assert isinstance(node, Check | Reading) and node.same_as is not None
        first = tree.nodes[node.same_as.name]
        assert (node.title.text, node.cost.minutes) == (first.title.text, first.cost.minutes)
        assert [need.name for need in node.needs] == [need.name for need in first.needs]
        for hazard in tree.hazards.values():
            at = [place.name for place in hazard.at]
            assert (node.name in at) == (first.name in at)


@pytest.mark.parametrize("path", NOTES, ids=lambda path: path.stem)
def test_a_draft_of_a_draft_costs_the_same(path: Path) -> None:
    """A drafted tree has ways; they do not count when it is drafted again."""
    made, _ = drafted(path.read_text(encoding="utf-8"), path)
    again, tree = drafted(made.text, path)
    check(again, tree)
    assert made.ways is not None and again.ways is not None
    assert [one.expected for one in again.ways.begun] == [one.expected for one in made.ways.begun]


BARE = (
    "tree a: A\n  machine: M\nsymptom s: S\n{}check c: C?\n  answers: yes, no\n"
    "fault x: X\n  shows: c no\n{}"
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BARE.format("", "fault y: Y\n").replace("symptom s: S\n", ""), "there is no symptom"),
        ("tree a: A\nsymptom s: S\ncheck c: C?\n  answers: yes, no\n", "there is no fault"),
        ("library a: A\ncheck c: C?\n  answers: yes, no\n", "`a` is a library"),
        (BARE.format("check d: D?\n", ""), "`d` has no answers"),
        (BARE.format("symptom t: T\n", "  symptoms: s\n"), "no fault belongs to the symptom `t`"),
    ],
)  # fmt: skip
def test_what_cannot_be_drafted_is_said(text: str, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        make(Path("a.tree"), as_shown, Source("a.tree", text))


def test_what_is_for_some_models_only_is_named_with_its_place_and_what_to_do() -> None:
    text = BARE.format("", "  only for: B\n").replace("  machine", "  models: A, B\n  machine")
    made = make(Path("a.tree"), as_shown, Source("a.tree", text))
    (one,) = made.findings
    assert made.text == "" and (one.span.text, one.span.line) == ("x", 7)
    assert one.message == "`x` is only for B, and a draft is one order for all models"
    assert one.why == "on A its ways would lead to what is not there"
    assert "write `models: B`" in one.help
    # What names every model is for all of them; so is what is told to be written instead.
    for sound in (text.replace("for: B", "for: A, B"), text.replace("models: A, B", "models: B")):
        assert make(Path("a.tree"), as_shown, Source("a.tree", sound)).text


def test_slips_are_shown_and_nothing_is_drafted() -> None:
    for text, rule in (
        (BARE.format("", "  nonsense\n"), "syntax"),
        (BARE.format("", "fault y: Y\n  shows: c maybe-so\n"), "missing-name"),
        (BARE.format("", "fault x: X again\n"), "duplicate-name"),
    ):
        made = make(Path("a.tree"), as_shown, Source("a.tree", text))
        assert made.text == "" and {finding.rule for finding in made.findings} == {rule}


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "a.tree", tmp_path / "b.tree"
    path.write_text(BARE.format("", "  remedy: R.\nfault y: Y\n  remedy: R2.\n"), encoding="utf-8")
    assert main(["draft", str(path)]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith("tree a: A\n") and "  if no: found x\n" in shown.out
    assert "s: 1 min on average to the last answer, proven the best order" in shown.err
    assert "`c` has no time" in shown.err and "`y` shows nothing" in shown.err
    assert main(["draft", str(path), "--out", str(out)]) == 0
    assert out.read_text(encoding="utf-8") == shown.out
    capsys.readouterr()
    out.write_text("mine", encoding="utf-8")
    assert main(["draft", str(path), "--out", str(out)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert out.read_text(encoding="utf-8") == "mine"
    assert main(["draft", str(path), "--out", str(out), "--force"]) == 0
    assert out.read_text(encoding="utf-8") == shown.out
    assert main(["tidy", "--check", str(out)]) == 0
    path.write_text(BARE.format("", "  nonsense\n"), encoding="utf-8")
    assert main(["draft", str(path), "--out", str(out), "--force"]) == 1
    assert out.read_text(encoding="utf-8") == shown.out
    assert main(["draft", str(tmp_path / "none.tree")]) == 2
    table = tmp_path / "t.csv"
    table.write_bytes((TREES / "tables" / "coffee-machine.csv").read_bytes())
    assert main(["draft", str(table), "--out", str(tmp_path / "t.tree")]) == 0
    assert main(["lint", str(tmp_path / "t.tree")]) == 0
    table.write_bytes(b"symptom,cause,share,Hum?\nDry,Pump,many,no\n")
    capsys.readouterr()
    assert main(["draft", str(table)]) == 2
    assert "row 2, column C (`share`): `many` is no number" in capsys.readouterr().err


def test_the_example_of_the_reference() -> None:
    text = (TREES.parent / "grammar" / "language.md").read_text(encoding="utf-8")
    [bare] = [block for block in text.split("```\n") if "answers: all 8.0" in block]
    head = "tree slow: Fills slowly\n  machine: M\n  units: metric\n\nsymptom slow: Slow\n\n"
    state = (
        "condition warmed-up: Warm\n  set up by: warm-up\n  undo by: none\n\n"
        "procedure warm-up: Warm up\n  time: 10 min\n  - Run it.\n\n"
    )
    bare = bare.replace("answers: all", "time: 3 min\n  answers: all")
    faults = (
        "fault low: Oil low\n  shows: oil-level low\n\n"
        "fault rings: Rings worn\n  shows: pump-up above, delivery any below 8.0 bar\n\n"
        "fault regulator: Regulator set low\n  shows: delivery any below 8.0 bar\n"
    )
    check(*drafted(head + state + bare + faults))


def test_places_become_one_only_where_all_stays_in_turn() -> None:
    """`z` waits for `p`. The places of `r` agree, but behind `q` no `p` was taken."""

    def spots() -> list[Spot]:
        return [
            Spot("p", {0: 2, 1: "f"}, {}),
            Spot("q", {0: 3, 1: "g"}, {}),
            Spot("r", {0: 4, 1: "h"}, {}),
            Spot("r", {1: "h", 2: "k"}, {}),
            Spot("z", {0: "m", 1: "n"}, {}),
        ]

    _, moved = merged(spots(), (0, 1), {})
    assert moved[3] == 2
    _, moved = merged(spots(), (0, 1), {"z": {"p"}})
    assert moved[3] == 3


def test_places_do_not_become_one_where_that_leads_round() -> None:
    spots = [
        Spot("a", {0: 1, 1: "f"}, {}),
        Spot("b", {0: "g", 1: "h"}, {}),
        Spot("b", {2: 3, 1: "h"}, {}),
        Spot("a", {2: "k", 1: "f"}, {}),
    ]
    made, moved = merged(spots, (0, 2), {})
    assert moved == {0: 0, 1: 1, 2: 1, 3: 3}
    assert made[1].ways == {0: "g", 1: "h", 2: 3}
