"""The command line: exit status, what is written where, and that nothing is written by halves."""

from __future__ import annotations

import argparse
import hashlib
import io
import json
import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

from treewright import outputs
from treewright import progress as progress_module
from treewright.cli import main as command_line
from treewright.cli.main import COMMANDS, main
from treewright.lint.rules import RULES
from treewright.progress import Progress
from treewright.project import find_trees, lint_all
from treewright.usage import UsageError

TREE = """\
tree dry: Pump gives no water
  models: B60, D-40/2

symptom none: No water
  start at: valve

symptom little: Little water
  start at: valve

check valve: Is the valve open?
  if yes: found leak
  if no: stop help

fault leak: Suction line leaks
  remedy: Fit a new hose.
  retest: valve

handoff help: It is not the pump
  to: the workshop
"""
FAULT = TREE.replace("found leak", "found leek").replace("tree dry", "tree wrong")
DOUBT = TREE[: TREE.index("handoff")].replace("stop help", "found leak")
LIBRARY = "library seals: Seals\n\ndone good: All is well\n  how: Look elsewhere.\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name, text in (("dry", TREE), ("wrong", FAULT), ("lib/seals", LIBRARY)):
        path = tmp_path / "trees" / f"{name}.tree"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    (tmp_path / "doubt.tree").write_text(DOUBT)
    return tmp_path


def run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", CODE, *arguments],
        capture_output=True, text=True, env={**os.environ, **environment}, check=False,
    )  # fmt: skip


CODE = "import sys; from treewright.cli.main import main; sys.exit(main())"

# ---- exit status and what is said -------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments, status",
    [
        (["lint", "trees/dry.tree"], 0),
        (["lint", "trees/lib"], 0),
        (["lint", "doubt.tree"], 0),
        (["lint", "doubt.tree", "--strict"], 1),
        (["lint", "trees"], 1),
        (["lint", "none.tree"], 2),
        (["lint", "empty"], 2),
        (["explain"], 0),
        (["explain", "gap"], 0),
        (["explain", "gaap"], 2),
        (["data", "trees/dry.tree"], 0),
        (["data", "trees/wrong.tree"], 1),
    ],
)
def test_exit_status(
    folder: Path, arguments: list[str], status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "empty").mkdir()
    assert main(arguments) == status
    said = capsys.readouterr()
    assert ("treewright: " in said.err) == (status == 2)


@pytest.mark.parametrize(
    "arguments", [[], ["linnt", "x"], ["lint"], ["lint", "--format", "xml", "x"], ["--what"],
                  ["chart", "x", "--paper", "a7"]], ids=" ".join,
)  # fmt: skip
def test_slips_in_the_command_are_said_with_the_usage(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert stopped.value.code == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("treewright: ") and "usage: " in said.err


def test_an_unknown_command_is_said_with_all_there_are_and_the_near_one(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for word, said in (("lnit", "there is no command `lnit`; did you mean `lint`?"),
                       ("qqqq", "there is no command `qqqq`")):  # fmt: skip
        with pytest.raises(SystemExit) as stopped:
            main([word, "x"])
        assert stopped.value.code == 2
        told = capsys.readouterr().err
        assert told.splitlines()[0] == f"treewright: {said}"
        for name, about in COMMANDS:
            assert f"    {name:<10}{about}\n" in told


def test_every_command_has_its_file_and_every_file_is_known() -> None:
    here = Path(command_line.__file__).parent
    shared = {"__init__", "main", "said", "made", "papers"}
    assert {path.stem for path in here.glob("*.py")} == shared | {name for name, _ in COMMANDS}
    for name, about in COMMANDS:
        parser = argparse.ArgumentParser()
        command_line.module(name).arguments(parser)
        assert callable(command_line.module(name).run)
        assert about[0].islower() and not about.endswith(".")


@pytest.mark.parametrize("name", [name for name, _ in COMMANDS])
def test_the_help_of_a_command_says_what_it_is_for(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main([name, "--help"])
    assert stopped.value.code == 0
    told = capsys.readouterr().out
    assert told.startswith(f"usage: treewright {name} [-h]")
    assert dict(COMMANDS)[name] in told


def test_the_start_loads_no_command(folder: Path) -> None:
    loaded = "import sys; from treewright.cli import main; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-S", "-c", loaded], capture_output=True, text=True, check=True,
        env={**os.environ, "PYTHONPATH": str(Path(command_line.__file__).parents[2])},
    )  # fmt: skip
    names = set(done.stdout.split())
    own = {name for name in names if name.split(".")[0] == "treewright"}
    assert own == {"treewright", "treewright.cli", "treewright.cli.main", "treewright.usage"}
    assert not names & {"dataclasses", "inspect", "typing", "pathlib", "shutil"}


def test_a_second_look_at_what_has_not_changed_loads_no_model(folder: Path) -> None:
    look = (
        "import sys; from treewright.cli.main import main; main(['lint', 'trees/dry.tree']);"
        "print(*(name for name in sys.modules if name.split('.')[0] in ('treewright', 'lark')))"
    )
    first, again = (
        subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True,
                       env={**os.environ, "XDG_CACHE_HOME": str(folder / "kept")})
        for _ in range(2)
    )  # fmt: skip
    assert first.stdout.splitlines()[0] == again.stdout.splitlines()[0]
    rooms = {name.split(".")[1] for name in again.stdout.split() if name.startswith("treewright.")}
    assert "syntax" in first.stdout and not rooms & {"syntax", "reason", "render"}
    assert not {"treewright.model.tree", "treewright.lint.run", "lark"} & set(again.stdout.split())


def test_json_has_its_shape(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lint", "trees", "doubt.tree", "--format", "json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {"version", "findings"} and told["version"] == 1
    assert len(told["findings"]) >= 2
    for finding in told["findings"]:
        assert {key: type(value) for key, value in finding.items()} == {
            "rule": str, "level": str, "path": str, "line": int, "column": int, "end_line": int,
            "end_column": int, "message": str, "why": str, "help": str, "way": list,
        }  # fmt: skip
        assert finding["level"] in ("fault", "doubt", "wording")
        lines = (folder / finding["path"]).read_text().splitlines()
        assert finding["line"] <= finding["end_line"] <= len(lines)
        assert 1 <= finding["column"] <= len(lines[finding["line"] - 1]) + 1
    leek = next(f for f in told["findings"] if "leek" in f["message"])
    line = (folder / leek["path"]).read_text().splitlines()[leek["line"] - 1]
    assert line[leek["column"] - 1 : leek["end_column"] - 1] == "leek"


WAIVED = TREE.split("check")[0].replace("tree dry", "tree waived") + """\
check valve: Is the valve open?
  if yes: go hose
  if no: go hose
  waive decides-nothing: Kept for \x1b the form.

check hose: Is the hose whole?
  if yes: found leak
  if no: found leak
  waive decides-nothing: For later.

fault leak: Suction line leaks
  remedy: Fit a new hose.
  retest: valve
"""


def test_what_is_waived_is_counted_and_said_where_asked_for(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "waived.tree").write_text(WAIVED)
    assert main(["lint", "waived.tree", "--strict"]) == 0
    plain = capsys.readouterr().out
    assert plain == "nothing found in 1 tree\n2 waived, see --waived\n"
    assert main(["lint", "waived.tree", "--waived"]) == 0
    assert capsys.readouterr().out.splitlines()[1:] == [
        "waived: decides-nothing waived.tree:10 – Kept for ␛ the form.",
        "waived: decides-nothing waived.tree:15 – For later.",
    ]
    assert main(["lint", "waived.tree", "--format", "json", "--waived"]) == 0
    assert json.loads(capsys.readouterr().out) == {"version": 1, "findings": []}
    assert main(["lint", "trees/dry.tree"]) == 0
    assert "waived" not in capsys.readouterr().out


def test_what_is_waived_in_a_library_is_said_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    waiver = "  waive decides-nothing: So it is.\n"
    (folder / "trees/lib/seals.tree").write_text(
        LIBRARY + "\ncheck dry: Is it dry?\n  if yes: go good\n  if no: go good\n" + waiver
    )
    for name in ("one", "two"):
        text = TREE.replace("tree dry", f"tree {name}").replace("\nsymptom", "use lib/seals.tree\n"
                            "\nsymptom", 1).replace("stop help", "go dry").split("handoff")[0]
        (folder / "trees" / f"{name}.tree").write_text(text)
    assert main(["lint", "trees/one.tree", "trees/two.tree", "--waived"]) == 0
    said = capsys.readouterr().out.splitlines()
    assert said[-1].startswith("waived: decides-nothing trees/lib/seals.tree:")
    assert sum(line.startswith("waived: ") for line in said) == 1


def test_sarif_has_the_findings_the_rules_and_what_was_waived(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "waived.tree").write_text(WAIVED)
    assert main(["lint", "trees", "waived.tree", "--format", "sarif"]) == 1
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert rules == [rule.name for rule in RULES]
    reasons = [
        (result["ruleId"], *(one["justification"] for one in result["suppressions"]))
        for result in run["results"]
    ]
    assert ("missing-name",) in reasons
    assert reasons[-2:] == [
        ("decides-nothing", "Kept for \x1b the form."), ("decides-nothing", "For later."),
    ]  # fmt: skip
    assert all(rules[r["ruleIndex"]] == r["ruleId"] for r in run["results"])


def test_no_colour_where_nobody_asked_for_it(folder: Path) -> None:
    assert "\x1b" not in run("lint", "trees").stdout


@pytest.mark.parametrize("no_colour, coloured", [(None, True), ("1", False), ("", False)])
def test_colour_on_a_terminal(
    folder: Path, monkeypatch: pytest.MonkeyPatch, no_colour: str | None, coloured: bool
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.delenv("NO_COLOR", raising=False)
    if no_colour is not None:
        monkeypatch.setenv("NO_COLOR", no_colour)
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    assert main(["lint", "trees"]) == 1
    assert ("\x1b[" in terminal.getvalue()) == coloured


def test_a_terminal_that_lacks_signs_gets_them_spelt_out(folder: Path) -> None:
    (folder / "odd.tree").write_text(TREE.replace("found leak", "found \u2192leak \u00b1"))
    done = run("lint", "odd.tree", PYTHONIOENCODING="ascii")
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert "\\u2192leak" in done.stdout


def test_a_reader_that_has_gone_is_no_trouble(folder: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-c", CODE, "lint", "trees"],
        stdout=writer, stderr=subprocess.PIPE, text=True, check=False,
    )  # fmt: skip
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no full device")
def test_an_output_that_cannot_be_written_is_said(folder: Path) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123
        done = subprocess.run(
            [sys.executable, "-c", CODE, "lint", "trees"],
            stdout=full, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr.startswith("treewright: ") and "Traceback" not in done.stderr


def test_an_interrupt_is_no_traceback(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*args: object, **kwargs: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("treewright.project.review_all", stop)
    assert main(["lint", "trees"]) == 130


def test_sharing_out_the_work_changes_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(60):
        text = (TREE, FAULT, DOUBT)[number % 3]
        (folder / "trees" / f"t{number}.tree").write_text(text)
    paths = find_trees(["trees"])
    monkeypatch.setattr("treewright.workers.os.cpu_count", lambda: 1)
    alone = lint_all(paths)
    monkeypatch.setattr("treewright.workers.os.cpu_count", lambda: 2)
    monkeypatch.setattr("treewright.workers._alone", lambda: True)
    shared = lint_all(paths)

    def plain(findings: object) -> list[tuple[object, ...]]:
        return [
            (f.span.source.path, f.span.start, f.span.end, f.rule, f.message, f.help, f.way)
            for f in findings  # type: ignore[attr-defined]
        ]

    assert plain(alone) == plain(shared)
    assert len(alone) > 40


# ---- building ---------------------------------------------------------------------------------


def test_what_is_not_in_the_tree_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", "trees/dry.tree", "--symptom", "leak"]) == 2
    assert "dry has no symptom `leak`; it has none, little" in capsys.readouterr().err
    assert main(["chart", "trees/dry.tree", "--model", "B66"]) == 2
    assert "dry has no model `B66`; it has B60, D-40/2" in capsys.readouterr().err
    assert not list(folder.glob("*.pdf")) and not list(folder.glob("*.svg"))


def test_a_folder_that_is_a_file_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "out").write_text("mine")
    assert main(["site", "trees/dry.tree", "--out", "out"]) == 2
    said = capsys.readouterr()
    assert said.err == "treewright: `out` is a file, not a folder\n"
    assert (folder / "out").read_text() == "mine"


def test_a_tree_with_a_fault_is_not_built_and_the_rest_is(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", "trees", "--out", "out"]) == 1
    said = capsys.readouterr()
    names = {path.name for path in (folder / "out").iterdir()}
    assert {"dry.html", "dry-chart.svg", "dry-chart.pdf", "dry-a4.pdf", "dry-letter.pdf",
            "dry.json", "index.html"} <= names  # fmt: skip
    assert not any("wrong" in name or "seals" in name or name.startswith(".") for name in names)
    assert "leek" in said.err
    assert sorted(said.out.split()) == sorted(f"out/{name}" for name in names)


def test_an_unchanged_file_is_left_alone_and_the_bytes_are_the_same(folder: Path) -> None:
    first = run("build", "trees/dry.tree", "--out", "one", PYTHONHASHSEED="1")
    assert first.returncode == 0, first.stderr
    before = {path.name: path.stat().st_mtime_ns for path in (folder / "one").iterdir()}
    again = run("build", "trees/dry.tree", "--out", "one", PYTHONHASHSEED="2")
    assert again.returncode == 0
    assert {path.name: path.stat().st_mtime_ns for path in (folder / "one").iterdir()} == before
    moved = folder / "elsewhere"
    (folder / "trees").rename(moved)
    assert run("build", "elsewhere/dry.tree", "--out", "two", PYTHONHASHSEED="3").returncode == 0
    for path in sorted((folder / "one").iterdir()):
        assert path.read_bytes() == (folder / "two" / path.name).read_bytes(), path.name


def test_two_trees_of_one_name(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "trees" / "second.tree").write_text(TREE)
    assert main(["data", "trees/dry.tree", "trees/second.tree", "--out", "out"]) == 1
    assert "another tree is called `dry`, too: trees/dry.tree" in capsys.readouterr().err
    assert [path.name for path in (folder / "out").iterdir()] == ["dry.json"]


def test_a_model_with_a_stroke_makes_one_file(folder: Path) -> None:
    arguments = ["sheet", "trees/dry.tree", "--model", "D-40/2", "--paper", "a4", "--out", "out"]
    assert main(arguments) == 0
    assert [path.name for path in (folder / "out").iterdir()] == ["dry-D-40-2-a4.pdf"]


def test_data_is_shown_where_no_folder_is_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["data", "trees/dry.tree"]) == 0
    assert json.loads(capsys.readouterr().out)
    assert sorted(path.name for path in folder.iterdir()) == ["doubt.tree", "trees"]


# ---- whole or not at all ----------------------------------------------------------------------


@pytest.mark.parametrize("broken", ["os.fdopen", "pathlib.Path.replace", "tempfile.mkstemp"])
def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, broken: str
) -> None:
    path = tmp_path / "out" / "dry.html"
    outputs.write(path, b"old")

    def fail(*args: object, **kwargs: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(broken, fail)
    with pytest.raises(UsageError, match="cannot be written: No space left on device"):
        outputs.write(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old"
    assert [p.name for p in path.parent.iterdir()] == ["dry.html"]


def test_an_interrupt_while_writing_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(*args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("pathlib.Path.replace", stop)
    with pytest.raises(KeyboardInterrupt):
        outputs.write(tmp_path / "x", b"new")
    assert list(tmp_path.iterdir()) == []


# ---- the kept tables of the grammar -----------------------------------------------------------


def test_kept_tables_are_made_and_used_and_a_bad_one_does_no_harm(folder: Path) -> None:
    home = folder / "home"
    said = [run("lint", "--fresh", "trees", XDG_CACHE_HOME=str(home)).stdout for _ in range(2)]
    (kept,) = (home / "treewright").glob("grammar-*")
    whole = kept.read_bytes()
    for content in (b"", b"rubbish", whole[:100], whole[:-1], whole[:32] + b"x" + whole[33:]):
        kept.write_bytes(content)
        said.append(run("lint", "--fresh", "trees", XDG_CACHE_HOME=str(home)).stdout)
        mended = kept.read_bytes()
        assert hashlib.sha256(mended[32:]).digest() == mended[:32]
    (folder / "file").write_text("in the way")
    for place in (str(folder / "file"), "relative", "/proc/none"):
        said.append(run("lint", "--fresh", "trees", XDG_CACHE_HOME=place).stdout)
    assert set(said) == {said[0]} and "leek" in said[0]
    assert not (folder / "relative").exists()


def test_kept_tables_never_run_what_is_in_them(folder: Path) -> None:
    class Bad:
        def __reduce__(self) -> tuple[object, tuple[str]]:
            return os.mkdir, (str(folder / "harm"),)

    home = folder / "home"
    run("lint", "--fresh", "trees", XDG_CACHE_HOME=str(home))
    (kept,) = (home / "treewright").glob("grammar-*")
    bad = pickle.dumps({"data": Bad(), "memo": {}})
    kept.write_bytes(hashlib.sha256(bad).digest() + bad)
    assert run("lint", "--fresh", "trees/dry.tree", XDG_CACHE_HOME=str(home)).returncode == 0
    assert not (folder / "harm").exists()


# ---- progress ---------------------------------------------------------------------------------


class Clock:
    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = 100.0
        monkeypatch.setattr(progress_module.time, "monotonic", lambda: self.now)


class Stream(io.StringIO):
    def __init__(self, live: bool) -> None:
        super().__init__()
        self.live = live

    def isatty(self) -> bool:
        return self.live


def test_progress_is_said_on_a_terminal_after_a_second(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, stream = Clock(monkeypatch), Stream(live=True)
    progress = Progress(stream)
    clock.now += 0.9
    progress.say(1, 40, "first")
    assert stream.getvalue() == ""
    clock.now += 0.2
    progress.say(2, 40, "second-tree")
    assert stream.getvalue() == "\r2 of 40 trees: second-tree"
    clock.now += 0.01
    progress.say(3, 40, "too-soon")
    clock.now += 0.2
    progress.say(4, 40, "x")
    longest = len("2 of 40 trees: second-tree")
    assert stream.getvalue().endswith("\r" + "4 of 40 trees: x".ljust(longest))
    progress.close()
    assert "too-soon" not in stream.getvalue()
    assert stream.getvalue().endswith("\r")


def test_progress_is_not_said_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    clock, stream = Clock(monkeypatch), Stream(live=False)
    progress = Progress(stream)
    clock.now += 10
    progress.say(1, 40, "first")
    progress.close()
    assert stream.getvalue() == ""


def test_a_process_with_other_threads_is_not_split() -> None:
    """Split while another thread holds a lock, the child would wait for it for ever."""
    import threading

    from treewright.workers import _alone

    stop = threading.Event()
    other = threading.Thread(target=stop.wait)
    other.start()
    try:
        assert not _alone()
    finally:
        stop.set()
        other.join()


def test_a_build_with_review_has_the_pages_of_reviewer_and_rules(tmp_path: Path) -> None:
    tree = tmp_path / "t.tree"
    tree.write_text(TREE, encoding="utf-8")
    assert main(["build", str(tree), "--out", str(tmp_path / "plain")]) == 0
    assert main(["build", str(tree), "--out", str(tmp_path / "all"), "--review"]) == 0
    plain, everything = ({p.name for p in (tmp_path / f).iterdir()} for f in ("plain", "all"))
    more = everything - plain
    assert plain < everything
    assert {"rules.html", "rule-gap.html"} < more
    assert any(name.endswith("-review.html") for name in more)


def test_the_console_command_exits_as_the_work_went(tmp_path: Path) -> None:
    """In a process of its own, through pipes: nothing that was said is lost at the end."""
    tree = tmp_path / "t.tree"
    tree.write_text(FAULT, encoding="utf-8")
    command = Path(sys.executable).with_name("treewright")
    done = subprocess.run([command, "lint", tree], capture_output=True, text=True, check=False)
    assert done.returncode == 1 and "1 fault" in done.stdout
    tree.write_text(TREE, encoding="utf-8")
    done = subprocess.run([command, "lint", tree], capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout
    done = subprocess.run([command, "lint", tmp_path / "no"], capture_output=True, check=False)
    assert done.returncode == 2 and done.stderr


def test_what_is_made_of_a_faulty_tree_is_put_nowhere(folder: Path) -> None:
    """Outputs are made while a tree is proven; where the proof fails they leave no trace."""
    (folder / "trees" / "bad.tree").write_text(FAULT)

    def built(out: Path, where: str) -> int:
        """In this process, which has threads and does all itself; in one that shares it out."""
        asked = ["build", "trees/bad.tree", "--out", str(out)]
        return main(asked) if where == "here" else run(*asked).returncode

    for where in ("here", "shared"):
        out = folder / where
        assert built(out, where) == 1
        assert not out.exists()
        out.mkdir()
        old = out / "wrong.json"
        old.write_text("old")
        assert built(out, where) == 1
        assert [path.name for path in out.iterdir()] == [old.name] and old.read_text() == "old"
