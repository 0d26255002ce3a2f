"""What `treewright weigh` says: to people, to programs, as a picture; and its exit status."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from jsonschema import Draft202012Validator
from test_lint import sound
from test_order_from_tree import PUMP
from test_weigh import DEMOS, UNDONE

from treewright.cli.main import main
from treewright.project import Project
from treewright.report.weigh import roughly, text
from treewright.report.weigh_json import as_json
from treewright.report.weigh_picture import weigh_picture
from treewright.report.weighed import LASTS, weigh_tree
from treewright.resources import grammar

SCHEMA: dict[str, Any] = json.loads((grammar() / "weigh.schema.json").read_text(encoding="utf-8"))
SVG = "{http://www.w3.org/2000/svg}"

HOSTILE = UNDONE.replace("Is it worn?", "<script>alert('&')</script> \u202e\x1b[31m \"quoted\"")


def command(*arguments: str | Path) -> int:
    try:
        return main(["weigh", *map(str, arguments)])
    except SystemExit as end:
        return int(end.code or 0)


def file(folder: Path, tree: str, name: str = "a.tree") -> Path:
    path = folder / name
    path.write_text(tree, encoding="utf-8")
    return path


# ---- for people ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "said"),
    [("0", "0 min"), ("0.2", "12 s"), ("0.995", "1 min"), ("2", "2 min"), ("4.25", "4.3 min"),
     ("12.5", "13 min"), ("65.2", "1 h 5 min"), ("120", "2 h")],
)  # fmt: skip
def test_a_mean_is_rounded_for_people(minutes: str, said: str) -> None:
    assert roughly(Fraction(minutes)) == said


def test_it_is_told_as_a_trainer_would_read_it() -> None:
    tree = sound(PUMP)
    told = text(tree, weigh_tree(tree, ranges_of="inferred"), "inferred")
    lines = [" ".join(line.split()) for line in told.splitlines()]
    for line in (
        "pump: Pump gives little",
        "symptom little: Gives little water",
        "last cause inferred last cause confirmed",
        "expected 38 min 1 h 4 min",
        "90 of 100 jobs 39 min 1 h 19 min",
        "worst 39 min (bearing) 1 h 30 min (wheel)",
        "of it, compared 35 min 42 s 1 h 2 min 12 s",
        "in the best order 12 min 24 s 38 min 54 s",
        "F2 Valve leaks 60 % 38 min 58 min",
        "1 look-in 30 min 1.00 ##############################",
        # look-in of L min last: 6 x 6 + 2 x 7 + 2 (7 + L); first: 10 L + 6 x 6 + 3 x 7: L = 7/8
        "time of look-in 30 min 52.5 s any",
    ):
        assert line in lines, told
    assert "at most" not in told and "not proven" not in told


def test_what_is_lacking_and_what_goes_astray_is_said() -> None:
    unsure = UNDONE.replace("  shows: speed no", "  shows: maybe speed no")
    tree = sound(unsure.replace("  time: 4 min\n", ""))
    told = text(tree, weigh_tree(tree), "inferred", width=400)
    assert re.search(r"expected +at least 18 min +at least ", told)  # (4 + 19 + 2 x 24) / 4
    assert "no time is written for 3 speed and F3 slow: it counts as nothing above" in told
    assert "in 50 % of the jobs the fault is not found" not in told
    assert "in 25 % of the jobs the fault is not found" in told
    assert "astray in 50 %: ends at shop after 24 min" in told
    assert "not reached" in told and "- (a fault goes astray)" in told


def test_within_a_few_points_it_says_what_is_not_proven() -> None:
    tree = Project().load(next(path for path in DEMOS if path.stem == "log-splitter")).tree
    assert tree is not None
    found = weigh_tree(tree, "weak", points=20, ranges_of="inferred")
    told = text(tree, found, "inferred")
    assert re.search(r"in the best order .*, not proven .*, not proven\n", told)
    assert re.search(r"looked at 21 points of the job +looked at 21 points of the job\n", told)
    assert re.search(r"any order, at least +\d+ min", told)
    assert re.search(r"saved +at least ", told)
    assert "not proven: no order is proven to be the best" in told


def test_author_text_cannot_steer_a_terminal() -> None:
    tree = sound(HOSTILE)
    told = text(tree, weigh_tree(tree), "confirmed")
    assert "\x1b" not in told and "\u202e" not in told


# ---- for programs --------------------------------------------------------------------------


def test_the_schema_is_closed_and_describes_all() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    for name, part in SCHEMA["$defs"].items():
        assert part["description"], name
        if part.get("type") == "object":
            assert part["additionalProperties"] is False
            assert part["required"] == list(part["properties"]), name
            assert all(one["description"] for one in part["properties"].values()), name
    for name in SCHEMA["$defs"]:
        assert f'"#/$defs/{name}"' in json.dumps(SCHEMA), name


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_demos_fit_the_schema(path: Path) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    found = json.loads(as_json([(tree, weigh_tree(tree, points=200))]))
    Draft202012Validator(SCHEMA).validate(found)
    for symptom in found["trees"][0]["symptoms"]:
        for last in LASTS:
            figures = symptom[last]
            spent = sum(bar["minutes"] for bar in figures["time_spent"])
            assert spent == pytest.approx(figures["expected"])
            assert sum(fault["share"] for fault in symptom["faults"]) == pytest.approx(1)
            assert figures["order"]["at_least"] <= figures["order"]["best"]


def test_what_is_not_to_be_weighed_and_ranges_fit_the_schema() -> None:
    tree = sound(PUMP)
    silent = sound(re.sub(r"  shows: .*\n", "", PUMP))
    found = [(tree, weigh_tree(tree, ranges_of="confirmed")), (silent, weigh_tree(silent))]
    shown = json.loads(as_json(found))
    Draft202012Validator(SCHEMA).validate(shown)
    assert shown["trees"][0]["symptoms"][0]["ranges"]["last"] == "confirmed"
    refused = shown["trees"][1]["symptoms"][0]["refused"]
    assert refused == "no fault that shows anything is behind it"
    assert "not weighed: no fault that shows anything" in text(silent, found[1][1], "inferred")
    broken = shown["trees"][0]["symptoms"][0]["faults"][0]
    broken["share"] = 2
    assert not Draft202012Validator(SCHEMA).is_valid(shown)


# ---- the picture ---------------------------------------------------------------------------


@pytest.mark.parametrize("last", LASTS)
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_picture_says_all_and_nothing_stands_outside(path: Path, last: str) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    found = weigh_tree(tree, points=50)
    root = ElementTree.fromstring(weigh_picture(found, last, tree.title.text, tree.language))  # type: ignore[arg-type]
    wide, high = map(float, (root.attrib["viewBox"].split()[2:]))
    assert root.attrib["width"] == f"{wide:g}pt" and root.attrib["role"] == "img"
    names = root.attrib["aria-labelledby"].split()
    told = {one.attrib["id"]: one.text or "" for one in root if "id" in one.attrib}
    assert list(told) == names and last in told["weigh-title"]
    bars = root.findall(f"{SVG}g")
    assert len(bars) == sum(len(one.weighed.bars(last)) for one in found if one.weighed)  # type: ignore[arg-type]
    for bar in bars:
        title = bar.find(f"{SVG}title")
        assert title is not None and title.text and title.text in told["weigh-desc"]
    for words in root.iter(f"{SVG}text"):
        assert float(words.attrib["font-size"]) >= 8
        assert 0 < float(words.attrib["y"]) < high
    for rect in root.findall(f".//{SVG}g/{SVG}rect"):
        assert float(rect.attrib["x"]) + float(rect.attrib["width"]) < wide


def test_author_text_is_data_in_a_picture() -> None:
    tree = sound(HOSTILE)
    drawn = weigh_picture(weigh_tree(tree), "inferred", 'A " & <b>title</b>')
    assert "<script" not in drawn and "\u202e" not in drawn and "\x1b" not in drawn
    root = ElementTree.fromstring(drawn)
    assert not list(root.iter(f"{SVG}script"))
    assert "<script>alert('&')</script>" in "".join(root.itertext())


def test_two_pictures_in_a_page_share_no_name() -> None:
    found = weigh_tree(sound(PUMP))
    one, other = (weigh_picture(found, "inferred", "Pump", key=key) for key in ("a", "b"))
    ids = [set(re.findall(r' id="([^"]+)"', drawn)) for drawn in (one, other)]
    assert ids[0] and not ids[0] & ids[1]


# ---- the command ---------------------------------------------------------------------------


def test_its_exit_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = file(tmp_path, PUMP)
    assert command(good) == 0
    lost = PUMP.replace("  shows: noise no", "  shows: gauge no, noise yes")
    lost = lost.replace("found strainer", "found bearing")
    assert command(file(tmp_path, lost, "lost.tree")) == 1
    unread = PUMP.replace("  then: go gauge", "  thn: go gauge")
    assert command(file(tmp_path, unread, "unread.tree")) == 1
    assert capsys.readouterr().err
    assert command(tmp_path / "none.tree") == 2
    assert command(good, "--symptom", "nothing") == 2
    assert command(good, "--points", "0") == 2
    assert command(good, "--last", "both") == 2
    assert command(good, good.with_name("lost.tree"), "--picture", tmp_path / "p.svg") == 2
    library = file(tmp_path, "library lib: Parts\n", "lib.tree")
    assert command(library) == 2
    assert "nothing can be weighed" in capsys.readouterr().err
    assert not (tmp_path / "p.svg").exists()


def test_it_writes_the_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = file(tmp_path, PUMP)
    assert command(good, "--picture", tmp_path / "p.svg", "--last", "confirmed") == 0
    root = ElementTree.fromstring((tmp_path / "p.svg").read_text(encoding="utf-8"))
    assert root.tag == f"{SVG}svg"
    assert "last cause confirmed" in capsys.readouterr().out


def test_the_same_tree_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    program = (
        "import sys; from treewright.cli.main import main; sys.exit(main(['weigh', *sys.argv[1:]]))"
    )
    shown = []
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", program, str(DEMOS[-1]), "--ranges", "--format", "json",
             "--picture", str(tmp_path / f"{seed}.svg"), "--symptom", "cycles"],
            capture_output=True, check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path)},
        )  # fmt: skip
        shown.append((done.stdout, (tmp_path / f"{seed}.svg").read_bytes()))
    assert shown[0] == shown[1]


def test_the_example_of_the_readme_is_what_the_command_says(
    capsys: pytest.CaptureFixture[str],
) -> None:
    root = Path(__file__).resolve().parents[1]
    readme = (root / "README.md").read_text(encoding="utf-8")
    shown = readme.split("symptom restarts: Starts", 1)[1].split("```", 1)[0]
    tree = str(root / "trees" / "air-compressor.tree")
    assert main(["weigh", tree, "--symptom", "restarts"]) == 0
    assert "symptom restarts: Starts" + shown.rstrip() in capsys.readouterr().out
