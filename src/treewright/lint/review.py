"""What came of a look at a tree by the rules: cheap to import, for those who only pass it on."""

from __future__ import annotations

from treewright.model.written import Waiver
from treewright.record import record
from treewright.text.diagnostic import Finding


@record
class Review:
    """What the linter found, and what it found but the author waived, with the reason."""

    findings: tuple[Finding, ...]
    waived: tuple[tuple[Finding, Waiver], ...]
