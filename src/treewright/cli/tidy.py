"""The command that writes trees in their settled form, or says which ones are not in it."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from treewright.cli.said import show, take_trees
from treewright.project import find_trees
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.text.diagnostic import Finding


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--check", action="store_true",
                        help="only name the files that would change")  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Tidies the trees of `options.paths`, or only looks whether they are, with `options.check`.

    Returns, raises: as `tidy_files` does.
    """
    def tell(found: list[Finding], files: int) -> None:
        show(found, files, sys.stderr)

    return tidy_files(options.paths, options.check, tell)


def tidy_files(
    paths: Sequence[str], check: bool, tell: Callable[[list[Finding], int], None]
) -> int:
    """Tidies files, or only looks whether they are tidy.

    A file that cannot be read, or whose settled form is not proven to say the same, is left
    as it is; the others are tidied all the same.

    Args:
        paths: files and folders as they were named.
        check: name the files that would change and write nothing.
        tell: tells people about findings in so many files.

    Returns:
        0; 1 where a file would change (with `check`) or cannot be read as a tree; 2 where a
        file is no text, cannot be written, or is not proven.

    Raises:
        UsageError: a path is not there.
    """
    from treewright.outputs import rewrite
    from treewright.syntax.tidy import Unproven, tidy
    from treewright.text.source import Unreadable, read

    files = find_trees(paths)
    findings: list[Finding] = []
    status = 0
    for path in files:
        try:
            source = read(path)
            text, found = tidy(source, as_shown)
            content = path.read_bytes()
            if b"\x00" in content:
                raise Unproven("a character in it is no text")
            changed = not found and text.encode() != content
            if changed and not check:
                rewrite(path, text.encode())
        except Unreadable as wrong:
            status = _left(f"{wrong.message}; {wrong.help}")
            continue
        except Unproven as wrong:
            status = _left(f"`{path.as_posix()}` is left as it is: {wrong}")
            continue
        except UsageError as wrong:
            status = _left(str(wrong))
            continue
        findings += found
        if changed:
            print(path.as_posix())
        if found or (changed and check):
            status = max(status, 1)
    if findings:
        tell(findings, len(files))
    return status


def _left(message: str) -> int:
    print(f"treewright: {message}", file=sys.stderr)
    return 2


def as_shown(text: str) -> tuple[str, ...]:
    """What a page makes of prose, as blocks and as one line, with single blanks outside code."""
    from treewright.render import prose

    return tuple(
        piece if piece.startswith("<pre>") else re.sub(r"[ \n]+", " ", piece)
        for page in (prose.html(text), prose.inline_html(text))
        for piece in re.split(r"(<pre>.*?</pre>)", page, flags=re.DOTALL)
    )
