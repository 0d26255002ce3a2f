"""Trees as a git revision has them, laid out in a folder of their own for as long as it takes.

The `git` program is called with lists of arguments, never by way of a shell; it is only asked to
read, fetches nothing and asks nobody. Only trees and pictures are laid out, under the names that
the revision has for them. Knows nothing of what is in a tree.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path, PurePosixPath

from treewright.project import SUFFIX
from treewright.usage import UsageError

_WANTED = (SUFFIX, ".png", ".jpg", ".jpeg", ".gif")
_PLAIN = ("100644", "100755")  # no links, no other repositories
_QUIET = {
    "LC_ALL": "C",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_NO_LAZY_FETCH": "1",
}


def split(asked: str) -> tuple[str, str] | None:
    """The revision and the path of "REV:PATH"; None where it is a path alone."""
    revision, colon, path = asked.partition(":")
    if not colon or not revision or Path(asked).exists():
        return None
    return revision, path


def lay_out(revision: str, path: str, into: Path) -> Path:
    """Lays out what a revision has at a path; for a file, its whole folder.

    Args:
        revision: as git takes it: "HEAD~1", a tag, a branch, a number.
        path: a tree or a folder, below the present folder, or wherever it lies.
        into: an empty folder.

    Returns:
        Where the file or folder lies in `into`.

    Raises:
        UsageError: there is no git, no such revision, or nothing there.
    """
    place = Path(path or ".")
    anchor = next(up for up in (place, *place.parents, Path()) if up.is_dir())
    below = PurePosixPath(os.path.relpath(place, anchor).replace(os.sep, "/"))
    return _laid_out(revision, f"./{below}", path, anchor, into)


def lay_out_object(revision: str, path: str, into: Path) -> Path:
    """As `lay_out`, with the path as git writes it behind a colon: below the top of the
    repository, or with "./" before it below the present folder."""
    return _laid_out(revision, path.rstrip("/"), path, Path(), into)


def _laid_out(revision: str, path: str, shown: str, anchor: Path, into: Path) -> Path:
    if revision.startswith("-"):
        raise UsageError(f"`{revision}` is no revision")
    if _git(anchor, "rev-parse", "--git-dir") is None:
        where = "this folder" if anchor == Path() else f"`{anchor.as_posix()}`"
        raise UsageError(
            f"{where} is in no git repository, so there is no revision `{revision}`"
        )
    if _git(anchor, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}") is None:
        raise UsageError(f"git knows no revision `{revision}`")
    path = "./" if path in ("./.", ".") else path
    kind = _git(anchor, "cat-file", "-t", f"{revision}:{path}")
    if kind is None:
        raise UsageError(f"the revision `{revision}` has no file or folder `{shown}`")
    if kind.strip() == b"tree":
        _fill(anchor, f"{revision}:{path}", into)
        return into
    folder, _, name = path.rpartition("/")
    _fill(anchor, f"{revision}:{folder}" + ("/" if folder == "." else ""), into)
    target = into / name
    if not target.is_file():
        raise UsageError(f"`{shown}` of the revision `{revision}` is no tree")
    return target


def _fill(anchor: Path, tree: str, into: Path) -> None:
    """Writes the trees and pictures of one of git's trees below a folder."""
    listed = _git(anchor, "ls-tree", "-r", "-z", "--full-tree", tree) or b""
    wanted: list[tuple[str, PurePosixPath]] = []
    for entry in listed.split(b"\0"):
        particulars, tab, raw = entry.partition(b"\t")
        if not tab:
            continue
        mode, _, number = particulars.decode().split(" ")
        name = PurePosixPath(os.fsdecode(raw))
        if mode in _PLAIN and name.suffix.lower() in _WANTED and ".." not in name.parts:
            wanted.append((number, name))
    contents = _contents(anchor, [number for number, _ in wanted])
    for (_, name), content in zip(wanted, contents, strict=True):
        target = into / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)


def _contents(anchor: Path, numbers: list[str]) -> list[bytes]:
    """What is in each of git's objects, read by one program."""
    told = _git(anchor, "cat-file", "--batch", given="".join(f"{n}\n" for n in numbers).encode())
    if told is None:
        raise UsageError("git could not read its own files: `git fsck` says what is wrong")
    found, at = [], 0
    for _ in numbers:
        end = told.index(b"\n", at)
        size = int(told[at:end].split(b" ")[2])
        found.append(told[end + 1 : end + 1 + size])
        at = end + 1 + size + 1
    return found


def _git(anchor: Path, *arguments: str, given: bytes = b"") -> bytes | None:
    """What git says; None where it refuses.

    Raises:
        UsageError: there is no git on this machine.
    """
    try:
        done = subprocess.run(
            ["git", *arguments], cwd=anchor, input=given, capture_output=True, check=False,
            env={**os.environ, **_QUIET},
        )  # fmt: skip
    except FileNotFoundError:
        raise UsageError(
            "comparing revisions needs the program `git`, which is not on this machine:"
            " compare two files or folders instead"
        ) from None
    return done.stdout if done.returncode == 0 else None
