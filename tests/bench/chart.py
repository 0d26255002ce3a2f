"""How well charts read: `python tests/bench/chart.py [FILE …]`, no test.

Counts the crossings of lines and adds up their lengths, for the whole chart in one piece and for
the chart as it is cut for A3. Where nothing is named: for the demo trees. Lines of one symbol do
not cross; ties of annotations are counted by themselves. Lengths are in multiples of the chart's
wider side, so that charts of different sizes can be compared, and in metres as printed with the
smallest type, 8 pt. The same on every machine.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from lines_of import Line, crossings, length, lines  # noqa: E402  (stands beside the tests)

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
    print(f"{'chart':<28}{'lines':>7}{'crossings':>11}{'with ties':>11}{'length':>9}{'metres':>8}")
    for file in files:
        tree = Project().load(file).tree
        assert tree is not None
        outline = compile_tree(tree)
        kept = _Keeper(outline, find_engine())
        whole = [kept.plan()]
        _tell(f"{outline.name}, whole", whole)
        on_paper.pdf(outline, kept, "a3")
        _tell(f"{outline.name}, cut for A3", kept.last)


class _Keeper(Draughtsman):
    """Keeps the plans of what was drawn last."""

    last: list[Plan]

    def drawn(self, plans: list[Plan]) -> list[Drawing]:  # type: ignore[override]
        self.last = list(plans)
        return super().drawn(plans)


def _tell(name: str, plans: list[Plan]) -> None:
    count = plain = tied = 0
    long = metres = 0.0
    for plan, (_, layout) in zip(plans, lay_out(plans, find_engine()), strict=True):
        drawn: list[Line] = lines(plan, layout)
        flow = [line for line in drawn if not line.tie]
        count += len(flow)
        plain += crossings(flow)
        tied += crossings(drawn)
        total = sum(map(length, flow))
        long += total / max(layout.width, layout.height)
        metres += total * METRES
    print(f"{name:<28}{count:>7}{plain:>11}{tied:>11}{long:>9.1f}{metres:>8.2f}")


if __name__ == "__main__":
    main()
