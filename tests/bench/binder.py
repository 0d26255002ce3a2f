"""How long a binder takes: `python tests/bench/binder.py [NODES] [--charts]`, no test.

Binds generated trees of some 40 nodes each, 300 nodes together where nothing else is said, as
`treewright binder` does on A4: read, lint, compile, set, bind. Told are wall clock and the
processor time of all processes, of one run with warm caches, and the pages. A busy machine makes
figures worse, never better.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import generate  # noqa: E402  (stands beside the tests, not in a package)

from treewright.render.paper import pages  # noqa: E402

SIZE = 40  # nodes of one tree, about as many as the demo trees have steps
TARGET = 20.0  # seconds for 300 nodes


def main() -> None:
    more = [one for one in sys.argv[1:] if one == "--charts"]
    nodes = next((int(one) for one in sys.argv[1:] if one.isdecimal()), 300)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        trees, left = 0, nodes
        while left > 0:
            size = max(min(SIZE, left), 12)
            trees += 1
            text = generate.tree(trees, size)
            (folder / f"tree-{trees}.tree").write_text(text, encoding="utf-8")
            left -= size
        code = "import sys; from treewright.cli.main import main; sys.exit(main())"
        command = [sys.executable, "-c", code, "binder", name, "--out", name, "--paper", "a4"]
        command += more
        subprocess.run(command, check=True, capture_output=True)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        wall = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        busy = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        pdf = (folder / "binder-a4.pdf").read_bytes()
    what = "binder with charts" if more else "binder"
    print(f"{what} of {nodes} nodes in {trees} trees: {pages(pdf)} pages, {len(pdf) / 1e6:.1f} MB")
    print(f"wall clock {wall:.2f} s, processors {busy:.2f} s (target below {TARGET:.0f} s)")


if __name__ == "__main__":
    main()
