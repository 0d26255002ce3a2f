"""How well charts read: `python tests/bench/chart.py [FILE …]`, no test.

Counts the crossings of lines and adds up their lengths, for the whole chart in one piece as it is
first laid out, with a line for every way; as it is drawn; and for the chart as it is cut for A3.
Where nothing is named: for the demo trees. Lines of one symbol do not cross; ties of annotations
are counted by themselves. Lengths are in multiples of the chart's wider side, so that charts of
different sizes can be compared, and in metres as printed with the smallest type, 8 pt. Circles are
the ways that are pairs of connector circles instead. The same on every machine.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from lines_of import figures, plain  # noqa: E402  (stands beside the tests)

from treewright.project import Project  # noqa: E402
from treewright.render.chart import paper as on_paper  # noqa: E402
from treewright.render.chart.engine import find_engine  # noqa: E402
from treewright.render.chart.layout import Draughtsman, Drawing, lay_out  # noqa: E402
from treewright.render.chart.symbols import Plan  # noqa: E402
from treewright.render.compile import compile_tree  # noqa: E402

ROOT = HERE.parents[1]
METRES = on_paper.SMALLEST / 72 * 0.0254  # by chart point


def main() -> None:
    files = [Path(name) for name in sys.argv[1:]] or sorted((ROOT / "trees").glob("*.tree"))
    print(
        f"{'chart':<34}{'lines':>7}{'crossings':>11}{'with ties':>11}{'length':>9}{'metres':>8}"
        f"{'circles':>9}"
    )
    for file in files:
        tree = Project().load(file).tree
        if tree is None:
            continue  # the texts of another tree in another language
        outline = compile_tree(tree)
        kept = _Keeper(outline, find_engine())
        _tell(f"{outline.name}, every way a line", [plain(outline)])
        _tell(f"{outline.name}, whole", [kept.whole()[0]])
        on_paper.pdf(outline, kept, "a3")
        _tell(f"{outline.name}, cut for A3", kept.last)


class _Keeper(Draughtsman):
    """Keeps the plans of what was drawn last."""

    last: list[Plan]

    def drawn(self, plans: Sequence[Plan]) -> list[Drawing]:
        self.last = list(plans)
        return super().drawn(plans)


def _tell(name: str, plans: list[Plan]) -> None:
    count = circles = flow = tied = 0
    long = metres = 0.0
    for plan, (_, layout) in zip(plans, lay_out(plans, find_engine()), strict=True):
        found = figures(plan, layout)
        count += found.lines
        flow += found.crossings
        tied += found.with_ties
        circles += sum(symbol.form == "connector" for symbol in plan.symbols)
        long += found.length / max(layout.width, layout.height)
        metres += found.length * METRES
    print(f"{name:<34}{count:>7}{flow:>11}{tied:>11}{long:>9.1f}{metres:>8.2f}{circles:>9}")


if __name__ == "__main__":
    main()
