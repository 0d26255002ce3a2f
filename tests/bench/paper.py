"""How long the sheets of the demo trees take: `python tests/bench/paper.py`, no test.

All papers of the four demo trees, CPU and wall clock, and how many pages each took; A4 and Letter
together, as a build makes them. Target: under 5 s for `treewright sheet` over all of them, which
shares the work out to the processors. A busy machine makes wall clock worse, never better.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

from treewright.making import Made, sound
from treewright.render.paper import pages
from treewright.render.sheet import laid
from treewright.render.sheet_form import PAPERS, Paper

GROUPS: tuple[tuple[Paper, ...], ...] = (("a4", "letter"), ("legal",), ("card",))
TREES = sorted((Path(__file__).resolve().parents[2] / "trees").glob("*.tree"))
START = "from treewright.cli.main import main; raise SystemExit(main())"


def main() -> None:
    all_cpu = all_wall = 0.0
    for tree in sound(TREES, Made()):
        for papers in GROUPS:
            cpu, wall = time.process_time(), time.perf_counter()
            ready = laid(tree.outline, papers, None, None, tree.pictures)
            made = {one.paper: one.pdf() for one in ready}
            cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
            counts = ", ".join(f"{name} {pages(pdf)}" for name, pdf in made.items())
            print(f"{tree.outline.name:16} {cpu:6.2f} s CPU {wall:6.2f} s wall   pages: {counts}")
            all_cpu, all_wall = all_cpu + cpu, all_wall + wall
    print(f"{'one after another':16} {all_cpu:6.2f} s CPU {all_wall:6.2f} s wall")
    with tempfile.TemporaryDirectory() as out:
        asked = [part for paper in PAPERS for part in ("--paper", paper)]
        command = [sys.executable, "-c", START, "sheet", *map(str, TREES), *asked]
        before, wall = getrusage(RUSAGE_CHILDREN), time.perf_counter()
        subprocess.run([*command, "--out", out], check=True, capture_output=True)
        wall, after = time.perf_counter() - wall, getrusage(RUSAGE_CHILDREN)
        cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"{'the command':16} {cpu:6.2f} s CPU {wall:6.2f} s wall   all papers of all trees")


if __name__ == "__main__":
    main()
