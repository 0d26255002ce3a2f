"""The papers that checklists are printed on, as they are asked for on the command line."""

from __future__ import annotations

import argparse

PAPERS = ("a4", "letter", "legal", "card")
USUAL = ("a4", "letter")


def papers(text: str) -> tuple[str, ...]:
    """Papers by name, with commas between."""
    names = tuple(dict.fromkeys(text.split(",")))
    for name in names:
        if name not in PAPERS:
            raise argparse.ArgumentTypeError(f"`{name}` is none of {', '.join(PAPERS)}")
    return names
