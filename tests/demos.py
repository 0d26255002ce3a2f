"""The demo trees: every tree of the folder, and not the translations beside them."""

from __future__ import annotations

from pathlib import Path

TREES = Path(__file__).parents[1] / "trees"


def trees_in(folder: Path) -> list[Path]:
    return sorted(path for path in folder.glob("*.tree") if path.name.count(".") == 1)


DEMOS = trees_in(TREES)
EVERY = sorted(path for path in TREES.rglob("*.tree") if path.name.count(".") == 1)  # libraries too
