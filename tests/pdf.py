"""Reads a PDF back with poppler, which had no part in making it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from treewright.render import prose
from treewright.render.outline import Outline

needs_poppler = pytest.mark.skipif(
    shutil.which("pdftotext") is None and "CI" not in os.environ, reason="needs poppler-utils"
)


def poppler(program: str, pdf: bytes, folder: Path, *options: str) -> str:
    file = folder / "sheet.pdf"
    file.write_bytes(pdf)
    command = [program, *options, str(file)]
    if program == "pdftotext":
        command.append("-")
    # What pdfinfo says of names is in whatever letters these were written in.
    errors = "replace" if program == "pdfinfo" else "strict"
    return subprocess.run(
        command, check=True, capture_output=True, text=True, errors=errors
    ).stdout


def words(pdf: bytes, folder: Path, *options: str) -> str:
    """The text of the sheet with every kind of white space and line break as one space."""
    text = poppler("pdftotext", pdf, folder, "-raw", *options).replace("\u200b", "")
    return " ".join(text.split())


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text)


def in_words(*sources: str) -> list[str]:
    return [prose.plain(source) for source in sources if source]


def changed(outline: Outline, name: str, **fields: object) -> Outline:
    """The outline with fields of one node changed."""
    nodes = tuple(
        replace(node, **fields) if node.name == name else node  # type: ignore[arg-type]
        for node in outline.nodes
    )
    return replace(outline, nodes=nodes)
