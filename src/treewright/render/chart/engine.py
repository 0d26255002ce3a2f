"""Runs the layout program and reads the places it gives.

The program is `graphviz-pure`, installed beside this package as a program of its own; it is
run as a process, so that its end is never ours. Nothing else of the toolkit knows of it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from treewright.record import record

Point = tuple[float, float]

SECONDS = 120.0
"""How long a layout may take (3,000 symbols took 2 s when it was measured)."""


class ChartError(Exception):
    """The chart could not be drawn. The message says why, in plain words."""


class EngineFailure(Exception):
    """One run of the engine failed; a simpler graph may succeed."""


@record
class Box:
    """A rectangle; y runs downwards."""

    left: float
    top: float
    right: float
    bottom: float


@record
class Route:
    """A line: a start, then Bézier pieces of three points each; the tip of its head."""

    points: tuple[Point, ...]
    tip: Point | None


@record
class Layout:
    """Where everything stands, in points; y runs downwards from 0."""

    width: float
    height: float
    places: dict[str, Point]  # middles of the symbols, by key
    routes: dict[str, Route]  # by the edge's id in the graph
    bands: dict[int, Box]  # by the stage's number, where the engine drew them


Engine = Callable[[str], str]
"""Takes graphs in the DOT language, one after the other, and gives each laid out as JSON, in
the same order. Raises EngineFailure."""


def find_engine(program: str | None = None) -> Engine:
    """The engine to be used.

    Args:
        program: None for the one that is installed with the toolkit, or the name or path of
            another, such as "dot".

    Raises:
        ChartError: there is no such program.
    """
    found = _find(program)

    def run(dot: str) -> str:
        try:
            done = subprocess.run(
                [found, "-Kdot", "-Tjson0"],
                input=dot.encode("utf-8", "replace"),
                capture_output=True,
                timeout=SECONDS,
                check=False,
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise EngineFailure(str(error)) from error
        if done.returncode != 0 or not done.stdout:
            raise EngineFailure(done.stderr.decode("utf-8", "replace").strip()[:200])
        return done.stdout.decode("utf-8", "replace")

    return run


def _find(program: str | None) -> str:
    if program is not None:
        given = shutil.which(program)
        if given is None:
            raise ChartError(f"there is no program {program} to draw the chart with")
        return given
    name = "graphviz-pure"
    beside = shutil.which(name, path=str(Path(sys.executable).parent))
    found = beside or _installed(name) or shutil.which(name)
    if found is None:
        raise ChartError(
            "the program that lays out the chart is missing; install graphviz-pure again"
        )
    return found


def _installed(name: str) -> str | None:
    """Where pip put a package's program of that name."""
    from importlib.metadata import PackageNotFoundError, files

    try:
        entries = files(name) or []
    except PackageNotFoundError:
        return None
    for entry in entries:
        if entry.name in (name, f"{name}.exe"):
            path = Path(str(entry.locate())).resolve()
            if path.is_file():
                return str(path)
    return None


def read_layout(text: str) -> Layout:
    """The places in an engine's answer to one graph.

    Raises:
        EngineFailure: the answer cannot be read.
    """
    return read_layouts(text, 1)[0]


def read_layouts(text: str, count: int) -> list[Layout]:
    """The places in an engine's answer to so many graphs.

    Raises:
        EngineFailure: the answer cannot be read, or is to another number of graphs.
    """
    decoder, layouts, rest = json.JSONDecoder(), [], text.strip()
    at = 0
    try:
        while at < len(rest):
            data, at = decoder.raw_decode(rest, at)
            layouts.append(_layout(data))
            while rest[at : at + 1].isspace():
                at += 1
    except (ValueError, KeyError, IndexError, TypeError) as error:
        raise EngineFailure(f"the engine's answer cannot be read: {error}") from error
    if len(layouts) != count:
        raise EngineFailure(f"the engine laid out {len(layouts)} graphs of {count}")
    return layouts


def _layout(data: dict[str, Any]) -> Layout:
    left, low, right, high = _numbers(data["bb"])

    def turned(x: float, y: float) -> Point:
        return x - left, high - y

    places: dict[str, Point] = {}
    bands: dict[int, Box] = {}
    for entry in data.get("objects", ()):
        name = entry["name"]
        if name.startswith("cluster_"):
            x0, y0, x1, y1 = _numbers(entry["bb"])
            bands[int(name.removeprefix("cluster_"))] = Box(*turned(x0, y1), *turned(x1, y0))
        elif "pos" in entry:
            places[name] = turned(*_numbers(entry["pos"]))
    routes = {}
    for entry in data.get("edges", ()):
        if "pos" not in entry:
            continue  # lines were not asked for
        tip, points = None, []
        for word in entry["pos"].split():
            if word.startswith("e,"):
                tip = turned(*_numbers(word[2:]))
            elif not word.startswith("s,"):
                points.append(turned(*_numbers(word)))
        routes[entry["id"]] = Route(tuple(points), tip)
    return Layout(right - left, high - low, places, routes, bands)


def _numbers(text: str) -> list[float]:
    return [float(word) for word in text.split(",")]
