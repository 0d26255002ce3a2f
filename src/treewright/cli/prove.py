"""`treewright prove`: every fault followed by what it shows, every case as it was read."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from treewright.project import Project, UsageError, find_trees
from treewright.text.diagnostic import Finding


def run(options: argparse.Namespace) -> int:
    """Proves the trees of `options.paths`; libraries among them have nothing to prove.

    Args:
        options: `paths`; `format`: "text" or "json"; `junit`: a file to write, or None.

    Returns:
        the exit status: 1 where a tree cannot be read whole, a fault is not found or a case
        does not end where it says; otherwise 0.

    Raises:
        UsageError: a path is not there, or there is no tree but libraries.
    """
    from shutil import get_terminal_size

    from treewright.outputs import write
    from treewright.report import prove, terminal
    from treewright.report.proof import Proof
    from treewright.report.proof import prove as proven

    project = Project()
    proofs: list[Proof] = []
    unread: list[str] = []
    findings: list[Finding] = []
    libraries = 0
    for path in find_trees(options.paths):
        loaded = project.load(path)
        if loaded.tree is None or not loaded.sound:
            unread.append(path.as_posix())
            findings += loaded.findings
        elif loaded.tree.library:
            libraries += 1
        else:
            proofs.append(proven(loaded.tree))
    if libraries and not proofs and not unread:
        raise UsageError("there is no tree here, only libraries: nothing can be proven")
    if findings:
        sys.stderr.write(terminal.render(findings))
    if options.format == "json":
        sys.stdout.write(prove.as_json(proofs))
    else:
        width = get_terminal_size((100, 24)).columns if sys.stdout.isatty() else 100
        sys.stdout.write("\n".join(prove.table(proof, width) for proof in proofs))
    if options.junit is not None:
        write(Path(options.junit), prove.junit(proofs, unread).encode())
    return 0 if not unread and all(proof.good for proof in proofs) else 1
