"""How long it takes and how much memory: `python tests/bench/run.py [NAME …]`, no test.

Times are wall clock, the median of five; where a command is meant, it is started anew each
time. Memory is the largest sum over a command and all processes it starts, read every 20 ms.
A busy machine makes figures worse, never better.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import generate  # noqa: E402  (stands beside the tests, not in a package)

ROOT = HERE.parents[1]
DEMO = ROOT / "trees" / "air-compressor.tree"
TIMES = 5
MANY, NODES = 1000, 40


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of the table: a value, its unit, and what it should be at most or at least."""

    label: str
    value: float
    unit: str
    target: float | None = None
    at_least: bool = False

    @property
    def verdict(self) -> str:
        if self.target is None:
            return ""
        met = self.value >= self.target if self.at_least else self.value <= self.target
        sign = ">=" if self.at_least else "<="
        return f"{sign} {_number(self.target)} {'met' if met else 'MISSED'}"


def _number(value: float) -> str:
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"


def seconds(work: Callable[[], object]) -> float:
    """The median time of one run."""
    taken = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def command(*arguments: str, **environment: str) -> None:
    """Runs the installed console script."""
    done = subprocess.run(
        [Path(sys.executable).with_name("treewright"), *arguments],
        cwd=ROOT,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "", **environment},  # as pip installs it
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    if done.returncode:
        raise SystemExit(f"treewright {arguments[0]} failed:\n{done.stderr.decode()}")


# ---- memory of a process and its children (Linux) --------------------------------------------


class Peak:
    """The largest memory of this process's children together, in MB."""

    def __init__(self) -> None:
        self.megabytes = 0.0
        self._stop = threading.Event()

    def watch(self) -> None:
        page = os.sysconf("SC_PAGE_SIZE")
        while not self._stop.wait(0.02):
            total = sum(_resident(pid) for pid in _below(os.getpid()))
            self.megabytes = max(self.megabytes, total * page / 1e6)


@contextmanager
def peak() -> Iterator[Peak]:
    watched = Peak()
    thread = threading.Thread(target=watched.watch)
    thread.start()
    try:
        yield watched
    finally:
        watched._stop.set()
        thread.join()


def _below(pid: int) -> list[int]:
    found = []
    try:
        for task in Path(f"/proc/{pid}/task").iterdir():
            found += [int(child) for child in (task / "children").read_text().split()]
    except OSError:
        return []
    return [*found, *(below for child in found for below in _below(child))]


def _resident(pid: int) -> int:
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except OSError:
        return 0


# ---- what is measured ------------------------------------------------------------------------


@cache
def _tree() -> Any:
    from treewright.project import Project

    return Project().load(DEMO).tree


@cache
def _outline() -> Any:
    from treewright.render.compile import compile_tree

    return compile_tree(_tree())


def build() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:

        def anew() -> None:
            for made in Path(folder).iterdir():
                made.unlink()
            command("build", str(DEMO), "--out", folder)

        yield Figure("build: one demo tree, all outputs, cold", seconds(anew), "s", 0.8)


def lint() -> Iterator[Figure]:
    taken = seconds(lambda: command("lint", "--fresh", str(DEMO)))
    yield Figure("lint: one demo tree, cold", taken, "s", 0.2)
    yield Figure("start: the command's help, cold", seconds(lambda: command("--help")), "s")

    def first() -> None:
        with tempfile.TemporaryDirectory() as folder:
            command("lint", str(DEMO), XDG_CACHE_HOME=folder)

    yield Figure("lint: the very first time, no tables kept", seconds(first), "s")


def commands() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:
        for name, *options in (("data",), ("site",), ("sheet", "--paper", "a4"), ("chart",)):
            arguments = (name, str(DEMO), *options, "--out", folder)
            taken = seconds(partial(command, *arguments))
            yield Figure(f"{' '.join((name, *options))}: one demo tree, cold", taken, "s")


def _many_trees(folder: str) -> None:
    for number in range(MANY):
        path = Path(folder) / f"generated-{number:04}.tree"
        path.write_text(generate.tree(number, NODES), encoding="utf-8")


def many() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:
        _many_trees(folder)
        start = time.perf_counter()
        with peak() as watched:
            command("lint", "--fresh", folder)
        taken = time.perf_counter() - start
    label = f"lint: {MANY:,} generated trees of {NODES} nodes, cold"
    yield Figure(f"{label}, once", taken, "s", 15)
    if watched.megabytes:  # not known but on Linux
        yield Figure("  peak memory, all processes", watched.megabytes, "MB", 500)


def again() -> Iterator[Figure]:
    """A folder that was linted before: what was found is kept, one tree has changed since."""
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory() as kept:
        _many_trees(folder)
        command("lint", folder, XDG_CACHE_HOME=kept)
        size = sum(path.stat().st_size for path in Path(kept).rglob("findings-*"))

        def changed() -> None:
            path = Path(folder) / f"generated-{MANY // 2:04}.tree"
            path.write_text(path.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
            command("lint", folder, XDG_CACHE_HOME=kept)

        yield Figure(f"lint: {MANY:,} trees again, one of them changed", seconds(changed), "s", 3)
        unchanged = seconds(lambda: command("lint", folder, XDG_CACHE_HOME=kept))
        yield Figure("  none of them changed", unchanged, "s")
        yield Figure("  kept for each tree", size / MANY / 1000, "kB")


def large() -> Iterator[Figure]:
    """One tree of ever more nodes; the exponent by which the time grows from 100 on."""
    taken: dict[int, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for nodes in (100, 1_000, 10_000):
            path = Path(folder) / f"large-{nodes}.tree"
            path.write_text(generate.tree(0, nodes), encoding="utf-8")
            start = time.perf_counter()
            with peak() as watched:
                command("lint", "--fresh", str(path))
            taken[nodes] = time.perf_counter() - start
            target = 20 if nodes == 10_000 else None
            label = f"lint: one tree of {nodes:,} nodes, cold, once"
            yield Figure(label, taken[nodes], "s", target)
    if watched.megabytes:
        yield Figure("  peak memory of the largest", watched.megabytes, "MB", 1_000)
    start_up = seconds(lambda: command("--help"))
    growth = math.log10((taken[10_000] - start_up) / (taken[100] - start_up)) / 2
    yield Figure("  exponent of the growth from 100 to 10,000", growth, "")


def row() -> Iterator[Figure]:
    """A row of yes-or-no checks with shared ends: 2 to the 40 ways."""
    lines = ["tree row: A row of checks", "symptom s: S", "  start at: n0", "handoff h: H",
             "  to: the workshop", "fault f: F", "  remedy: R."]  # fmt: skip
    for at in range(40):
        lines += [f"check n{at}: Is it there?", f"  if yes: {'go next' if at < 39 else 'stop h'}"]
        lines += [f"  if no: {'go next' if at < 38 else 'found f'}", "  if gone: found f"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "row.tree"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        taken = seconds(lambda: command("lint", "--fresh", str(path)))
    yield Figure("lint: 40 checks in a row with shared ends, cold", taken, "s", 0.5)


def parser() -> Iterator[Figure]:
    from treewright.syntax import grammar
    from treewright.syntax.parse import parse
    from treewright.text.source import Source

    text = DEMO.read_text(encoding="utf-8")

    def anew() -> None:
        grammar._read_again.cache_clear()  # else the same lines are not read a second time
        parse(Source(DEMO.name, text))

    taken = seconds(anew)
    yield Figure("parse: lines a second, warm", len(text.splitlines()) / taken, "lines/s")


def stages() -> Iterator[Figure]:
    """Each stage again and again in one process: what is kept from the run before counts."""
    from treewright.lint.run import lint
    from treewright.project import Project, pictures
    from treewright.render import chart as charts
    from treewright.render.compile import compile_tree
    from treewright.render.data import to_json
    from treewright.render.sheet import sheet
    from treewright.render.site import page

    outline = _outline()
    drawn = charts.svg(outline)
    shown = pictures(_tree())
    for label, work in (
        ("load: parse and model", lambda: Project().load(DEMO)),
        ("lint: rules alone", lambda: lint(_tree())),
        ("compile: the outline", lambda: compile_tree(_tree())),
        ("data: JSON, checked", lambda: to_json(outline)),
        ("chart: SVG", lambda: charts.svg(outline)),
        ("chart: PDF, drawn anew", lambda: charts.pdf(outline)),
        ("sheet: PDF, one paper", lambda: sheet(outline, "a4")),
        ("site: HTML", lambda: page(outline, drawn, shown)),
    ):
        yield Figure(f"{label}, one demo tree, warm", seconds(work), "s")


BENCHES: dict[str, Callable[[], Iterator[Figure]]] = {
    bench.__name__: bench
    for bench in (build, lint, commands, many, again, large, row, parser, stages)
}


def main() -> None:
    options = argparse.ArgumentParser(description="Times and memory, as a table.")
    options.add_argument("names", nargs="*", metavar="NAME", help=f"of {', '.join(BENCHES)}")
    names = options.parse_args().names or list(BENCHES)
    if unknown := set(names) - set(BENCHES):
        options.error(f"there is no bench {', '.join(sorted(unknown))}")
    for name in names:
        for figure in BENCHES[name]():
            value = f"{_number(figure.value):>9} {figure.unit:<8}"
            print(f"{figure.label:<58}{value}{figure.verdict}", flush=True)


if __name__ == "__main__":
    main()
