"""What is kept of findings changes nothing but the time: the same is said with it and without."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from treewright import kept_findings, project
from treewright.cli.main import main
from treewright.project import find_trees, review_all

TREE = """\
tree NAME: Gives no water
use lib/help.tree
use lib/other.tree

symptom dry: No water
  start at: valve

check valve: Is the valve open?
  picture: valve.png "The valve"
  if yes: go lever
  if no: go lever
  waive decides-nothing: So it – is.

check hose: Is the hose whole?
  if yes: found leak
  if no: go vavle

fault leak: Suction line leaks
  remedy: Fit a new hose.
  retest: valve
"""
HELP = """\
library help: Help
use deeper.tree

check lever: Is the lever whole?
  picture: lever.png
  if yes: go nobody
  if no: stop nobody
"""
DEEPER = "library deeper: Deeper\n\nhandoff nobody: Nobody\n  to: the workshop\n"
PNG = b"\x89PNG\r\n\x1a\n and more"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    home = tmp_path / "shop"
    (home / "trees" / "lib").mkdir(parents=True)
    for name in ("one", "two", "three"):
        (home / "trees" / f"{name}.tree").write_text(TREE.replace("NAME", name))
    (home / "trees" / "three.tree").write_text("tree three: Fine\n# nothing in it \n  tim: 2\n")
    (home / "trees" / "lib" / "help.tree").write_text(HELP)
    (home / "trees" / "lib" / "deeper.tree").write_text(DEEPER)
    (home / "trees" / "valve.png").write_bytes(PNG)
    (home / "trees" / "lib" / "lever.png").write_bytes(PNG)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.chdir(home)
    return home


def said(capsys: pytest.CaptureFixture[str], *options: str, paths: tuple[str, ...] = ("trees",)
         ) -> tuple[str, ...]:  # fmt: skip
    """All that is said of some trees, in every form."""
    told = []
    for form in ("text", "json", "sarif"):
        main(["lint", *paths, "--format", form, "--waived", *options])
        told.append(capsys.readouterr().out)
    return tuple(told)


@pytest.fixture
def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files that were looked at anew."""
    files: list[str] = []
    load = project.Project.load

    def noted(self: project.Project, path: Path) -> project.Loaded:
        files.append(path.as_posix())
        return load(self, path)

    monkeypatch.setattr(project.Project, "load", noted)
    return files


def test_the_second_time_nothing_is_looked_at_and_the_same_is_said(
    folder: Path, looked_at: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["lint", "trees", "--waived"])
    first = capsys.readouterr().out
    assert len(looked_at) == 5
    assert "waived: decides-nothing" in first and "vavle" not in first.splitlines()[0]
    looked_at.clear()
    again = said(capsys)
    assert looked_at == []
    assert again[0] == first
    assert again == said(capsys, "--fresh")
    assert len(looked_at) == 15
    assert "So it – is." in first and "lib/other.tree" in first


def change(path: str, old: str, new: str) -> Callable[[], object]:
    def work() -> None:
        text = Path(path).read_text()
        assert old in text
        Path(path).write_text(text.replace(old, new))

    return work


CHANGES: dict[str, Callable[[], object]] = {
    "the tree": change("trees/one.tree", "found leak", "go leak"),
    "a comment more, so that lines move": change("trees/one.tree", "\n\n", "\n# new\n\n"),
    "its library": change("trees/lib/help.tree", "go nobody", "stop nobody"),
    "a library of its library": change("trees/lib/deeper.tree", "handoff", "done"),
    "a library is gone": lambda: Path("trees/lib/deeper.tree").unlink(),
    "a library that was missing is there": lambda: Path("trees/lib/other.tree").write_text(
        "library other: Other\n\nhandoff nobody: Somebody\n  to: the office\n"
    ),
    "a library is no text any more": lambda: Path("trees/lib/deeper.tree").write_bytes(b"\xff"),
    "a library is a folder": lambda: Path("trees/lib/other.tree").mkdir(),
    "a picture is gone": lambda: Path("trees/valve.png").unlink(),
    "a picture of a library is gone": lambda: Path("trees/lib/lever.png").unlink(),
    "a picture is another kind": lambda: Path("trees/valve.png").write_bytes(b"GIF89a"),
    "a picture lies outside": lambda: (
        shutil.move("trees/valve.png", "valve.png"),
        Path("trees/valve.png").symlink_to("../valve.png"),
    ),
    "a library lies outside": lambda: (
        shutil.move("trees/lib/deeper.tree", "deeper.tree"),
        Path("trees/lib/deeper.tree").symlink_to("../../deeper.tree"),
    ),
}


@pytest.mark.parametrize("what", CHANGES)
def test_whatever_changes_is_said(
    what: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = said(capsys)
    CHANGES[what]()
    after = said(capsys)
    assert after == said(capsys, "--fresh")
    assert after != before


@pytest.mark.parametrize(
    "move",
    [lambda: Path("trees/one.tree").rename("trees/four.tree"),
     lambda: (Path("trees/one.tree").rename("x"), Path("trees/two.tree").rename("trees/one.tree"),
              Path("x").rename("trees/two.tree")),
     lambda: shutil.copytree("trees", "more")],
    ids=["renamed", "changed places", "copied"],
)  # fmt: skip
def test_a_file_that_moved_is_another(
    move: Callable[[], object], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys)
    move()
    places = ("trees", "more") if Path("more").exists() else ("trees",)
    assert said(capsys, paths=places) == said(capsys, "--fresh", paths=places)


def test_a_path_is_said_as_it_was_given(
    folder: Path, looked_at: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys)
    looked_at.clear()
    whole = str(folder / "trees")
    told = said(capsys, paths=(whole,))
    assert looked_at == []
    assert f"{whole}/one.tree:" in told[0]
    assert told == said(capsys, "--fresh", paths=(whole,))


def test_only_what_changed_is_looked_at(
    folder: Path, looked_at: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    said(capsys)
    looked_at.clear()
    change("trees/one.tree", "go vavle", "go valve")()
    said(capsys)
    assert looked_at == ["trees/one.tree"]
    looked_at.clear()
    change("trees/lib/deeper.tree", "Nobody", "No one")()
    said(capsys)
    assert sorted(looked_at) == [
        "trees/lib/deeper.tree", "trees/lib/help.tree", "trees/one.tree", "trees/two.tree",
    ]  # fmt: skip


def test_what_another_program_found_is_not_taken(
    folder: Path, looked_at: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = find_trees(["trees"])
    review_all(paths, keep=True)
    looked_at.clear()
    monkeypatch.setattr(kept_findings, "_program", lambda: "another")
    review_all(paths, keep=True)
    assert len(looked_at) == len(paths)


def test_the_program_is_told_by_its_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "treewright"
    shutil.copytree(Path(kept_findings.__file__).parent, package)
    monkeypatch.setattr(kept_findings, "__file__", str(package / "kept_findings.py"))
    here = kept_findings._program.__wrapped__()
    assert here == kept_findings._program()
    rule = package / "lint" / "rules" / "gap.py"
    stat = rule.stat()
    rule.write_text(rule.read_text().replace("no answer", "no reply "))
    os.utime(rule, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert kept_findings._program.__wrapped__() != here


def test_nothing_is_kept_unless_asked_for(folder: Path) -> None:
    review_all(find_trees(["trees"]))
    kept = list((folder.parent / "cache").rglob("findings-*"))
    assert kept == []


def damaged(content: bytes) -> list[bytes]:
    """Contents that are no kept findings; the last ones with a digest that fits."""
    made = json.loads(content[32:])
    other: list[object] = [None, [], {}, 7, "x", {**made, "findings": 7},
                           {**made, "findings": [[1, 2]]}, {**made, "libraries": [["x"]]},
                           {**made, "findings": [[*made["findings"][0][:3], [9, 0, 1],
                                                  *made["findings"][0][4:]]]},
                           {**made, "libraries": [["../../x", "y"]]}]  # fmt: skip
    whole = [json.dumps(one).encode() for one in other] + [b"\xff", b"", b"{"]
    return [b"", b"rubbish", content[:40], content[:-1], content[:32] + b" " + content[33:],
            *(hashlib.sha256(one).digest() + one for one in whole)]  # fmt: skip


def test_a_damaged_one_does_no_harm(
    folder: Path, looked_at: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    one = ("trees/one.tree",)
    told = said(capsys, paths=one)
    (kept,) = (folder.parent / "cache" / "treewright").glob("findings-*.kept")
    whole = kept.read_bytes()
    for content in damaged(whole):
        kept.write_bytes(content)
        looked_at.clear()
        assert said(capsys, paths=one) == told
        assert looked_at == ["trees/one.tree"], content
        assert kept.read_bytes() == whole


@pytest.mark.parametrize("place", ["relative", "/proc/none", "file"])
def test_where_nothing_can_be_kept_all_is_looked_at(
    place: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told = said(capsys)
    (folder / "file").write_text("in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "file") if place == "file" else place)
    assert said(capsys) == told == said(capsys)
    assert not (folder / "relative").exists()


def test_many_are_kept_by_the_processes_that_share_the_work(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("treewright.workers.os.cpu_count", lambda: 2)
    monkeypatch.setattr("treewright.workers._alone", lambda: True)
    for number in range(60):
        (folder / "trees" / f"t{number}.tree").write_text(TREE.replace("NAME", f"t{number}"))
    paths = find_trees(["trees"])
    main(["lint", "trees", "--waived"])
    told = capsys.readouterr().out
    assert set(kept_findings.known(paths)) == set(paths)
    assert said(capsys)[0] == told
    assert said(capsys, "--fresh")[0] == told


def test_a_fix_is_kept_as_well(folder: Path) -> None:
    paths = find_trees(["trees/lib/help.tree"])
    first = review_all(paths, keep=True)
    kept = kept_findings.known(paths)[paths[0]]
    fixes = [f.fix and (f.fix.span.text, f.fix.replacement, f.fix.text) for f in first.findings]
    again = [f.fix and (f.fix.span.text, f.fix.replacement, f.fix.text) for f in kept.findings]
    assert fixes == again and any(fixes)
