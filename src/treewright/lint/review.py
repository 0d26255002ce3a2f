"""What came of a look at a tree by the rules: cheap to import, for those who only pass it on."""

from __future__ import annotations

from dataclasses import dataclass

from treewright.model.tree import Waiver
from treewright.text.diagnostic import Finding


@dataclass(frozen=True, slots=True)
class Review:
    """What the linter found, and what it found but the author waived, with the reason."""

    findings: tuple[Finding, ...]
    waived: tuple[tuple[Finding, Waiver], ...]
