"""`treewright sheet`: its papers, what it says of what it took, and what it refuses."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from treewright.cli.main import main

CASE = Path(__file__).parent / "cases" / "sheets" / "slow-fill.tree"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copy(CASE, tmp_path / "fill.tree")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_it_says_what_a_card_took(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "fill.tree", "--paper", "card", "--sheets", "1", "--impose", "fold"]) == 0
    said = capsys.readouterr()
    assert said.out.split() == ["slow-fill-card.pdf", "slow-fill-card-fold.pdf"]
    assert said.err == (
        "treewright: slow-fill-card.pdf: 2 pages, 1 card of two sides, two columns at 14.3 pt\n"
    )
    assert {path.name for path in here.glob("*.pdf")} == set(said.out.split())


def test_what_does_not_fit_is_made_and_said(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    short = "Tank full, switched off, outlet shut."
    long = " ".join(["Look at it once more from the other side."] * 60)
    (here / "fill.tree").write_text(CASE.read_text().replace(short, long))
    assert main(["sheet", "fill.tree", "--paper", "card", "--sheets", "1"]) == 1
    said = capsys.readouterr()
    assert said.out.split() == ["slow-fill-card.pdf"]
    assert "does not fit on 1 card, by about " in said.err
    assert "at 10 pt" in said.err
    assert "Shorten what is longest: 2 Pressure lost in ten minutes (" in said.err
    assert "(--symptom)" in said.err and "(--short)" in said.err
    assert main(["sheet", "fill.tree", "--paper", "card", "--sheets", "1", "--short",
                 "--symptom", "slow-fill"]) == 0  # fmt: skip


def test_papers_are_two_unless_others_are_asked_for(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", "fill.tree", "--out", "two"]) == 0
    assert sorted(path.name for path in (here / "two").iterdir()) == [
        "slow-fill-a4.pdf", "slow-fill-letter.pdf",
    ]  # fmt: skip
    assert main(["build", "fill.tree", "--papers", "legal,card", "--out", "built"]) == 0
    made = {path.name for path in (here / "built").glob("*.pdf")}
    assert made == {"slow-fill-chart.pdf", "slow-fill-legal.pdf", "slow-fill-card.pdf"}


@pytest.mark.parametrize(
    ("options", "wrong"),
    [
        (["--impose", "cut"], "ask for `--paper card` as well"),
        (["--base-url", "ftp://here"], "must begin with https"),
        (["--codes", "steps"], "give `--base-url`, too"),
        (["--symptom", "leek"], "has no symptom `leek`"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_sentence(
    options: list[str], wrong: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", "fill.tree", *options]) == 2
    said = capsys.readouterr().err
    assert wrong in said and said.count("\n") == 1
    assert not list(here.glob("*.pdf"))


@pytest.mark.parametrize("count", ["0", "-1", "x", "1000"])
def test_a_number_of_sheets_is_wanted(count: str, here: Path) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["sheet", "fill.tree", "--sheets", count])
    assert stopped.value.code == 2


def test_suspects_stand_on_the_sheet(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from read_back import sheet_text

    assert main(["sheet", "fill.tree", "--paper", "legal", "--suspects", "--record"]) == 0
    text = sheet_text((here / "slow-fill-legal.pdf").read_bytes())
    assert "Ruled out by now: F1 Still suspect: F2 A joint leaks" in text
    assert "Record of readings 2 Pressure lost in ten minutes at most 0.2 bar bar" in text
