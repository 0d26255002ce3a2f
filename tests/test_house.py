"""The house in order: layers, the code map, the README's tree, words that do not belong."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from code_map import BLOCK, GUIDE, code_map

from treewright.build import build
from treewright.progress import Progress
from treewright.project import Project, lint_loaded

ROOT = Path(__file__).resolve().parents[1]


def _tracked() -> list[str]:
    """Files of the project: what git tracks, and what is new and not ignored."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT, check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    return [name for name in listed.splitlines() if (ROOT / name).is_file()]


def test_a_room_knows_the_rooms_below_it_and_none_above() -> None:
    done = subprocess.run(
        [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_code_map_is_what_the_modules_say() -> None:
    block = BLOCK.search(GUIDE.read_text(encoding="utf-8"))
    assert block is not None
    assert block[2] == code_map(), "python tests/code_map.py writes it anew"


def test_the_top_level_is_what_it_was_agreed_to_be() -> None:
    top = {name.split("/")[0] for name in _tracked()}
    plain = {name for name in top if not name.startswith(".")}
    assert plain == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "src", "trees", "grammar", "tests", "site",
    }  # fmt: skip


def test_no_file_names_a_place_of_this_machine() -> None:
    odd = re.compile(r"(?<![\w.])/(work|root|farm)/|/home/[a-z]")
    for name in _tracked():
        path = ROOT / name
        if path.suffix in (".png", ".pdf", ".ttf", ".jpg"):
            continue
        found = odd.search(path.read_text(encoding="utf-8"))
        assert found is None or name == "tests/test_house.py", name


def _readme_tree() -> str:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    block = re.search(r"```\n(tree .*?)```", text, re.S)
    assert block is not None
    return block[1]


def test_the_tree_of_the_readme_has_no_gap_and_is_built(tmp_path: Path) -> None:
    path = tmp_path / "lamp.tree"
    path.write_text(_readme_tree(), encoding="utf-8")
    made = build([path], tmp_path / "out", Progress(sys.stderr))
    assert made.findings == []
    names = {path.name for path in made.written}
    assert names == {
        "lamp.html", "lamp-chart.svg", "lamp-chart.pdf", "lamp-a4.pdf", "lamp-letter.pdf",
        "lamp.json", "index.html", "sw.js", "manifest.webmanifest", "icon.svg",
    }  # fmt: skip


def test_the_slip_that_the_readme_proposes_is_found(tmp_path: Path) -> None:
    path = tmp_path / "lamp.tree"
    tree = _readme_tree()
    assert "if below: stop electrics" in tree
    path.write_text(tree.replace("if below:", "if below 10 V:"), encoding="utf-8")
    found = lint_loaded(Project().load(path))
    assert [finding.rule for finding in found] == ["gap"]
    assert found[0].way == ("symptom dark", "1 plugged-in: yes", "2 supply")


@pytest.mark.parametrize("folder", ["grammar", "site"])
def test_the_wheel_brings_what_is_outside_the_package(folder: str) -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    shipped = config["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert shipped[folder] == f"treewright/_shipped/{folder}"


def test_a_wheel_holds_the_templates(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--no-deps", "--quiet",
         "--disable-pip-version-check", "-w", str(tmp_path), str(ROOT)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    [wheel] = tmp_path.glob("*.whl")
    inside = set(zipfile.ZipFile(wheel).namelist())
    for needed in (
        "treewright/_shipped/grammar/tree.lark",
        "treewright/_shipped/grammar/tree.schema.json",
        "treewright/_shipped/site/page.html",
        "treewright/render/typst/sheet.typ",
    ):
        assert needed in inside
