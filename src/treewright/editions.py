"""Reads editions of trees to be compared: from files, folders and git revisions.

An edition needs not be free of findings: an old one was written by older rules. It must only be
readable whole, so that it can be compiled.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from treewright import revisions
from treewright.project import Loaded, Project, find_trees, lint_loaded, pictures
from treewright.record import record
from treewright.text.diagnostic import Level
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.model.tree import Tree
    from treewright.reason.standing import Standing
    from treewright.render.editions import Comparison
    from treewright.render.outline import Outline


@record
class Edition:
    """One tree as it was at one time.

    Attributes:
        place: where it was read, as a person would name it: "HEAD~1:trees/pump.tree".
        key: its path below what was asked for; "" where a file was.
        tree: what it was compiled from; None: what is known at its nodes is not looked into.
    """

    place: str
    key: str
    outline: Outline
    pictures: dict[str, bytes]
    tree: Tree | None = None

    def stand(self, symptom: str | None, model: str | None) -> dict[str, Standing] | None:
        """What is ruled out and still suspect at each node; None: that cannot be told."""
        from treewright.reason.standing import standing

        try:
            return None if self.tree is None else standing(self.tree, symptom, model)
        except Exception:  # no promise holds for a tree with faults
            return None


@record
class Pair:
    """A tree in two editions; None on the side where it is not there."""

    old: Edition | None
    new: Edition | None

    @property
    def outlines(self) -> tuple[Outline | None, Outline | None]:
        old, new = self.old, self.new
        return old.outline if old else None, new.outline if new else None

    def compared(self) -> Comparison | None:
        """What changed; None where there is only one of the two."""
        from treewright.render.editions import compare

        if self.old is None or self.new is None:
            return None
        old, new = self.old, self.new
        return compare(
            old.outline, new.outline, old.pictures, new.pictures, (old.stand, new.stand)
        )


def read(asked: str) -> list[Edition]:
    """The trees of a file, a folder, or of "REV:PATH".

    Raises:
        UsageError: there is nothing there, or it cannot be read whole.
    """
    parts = revisions.split(asked)
    if parts is None:
        return _editions(Path(asked), Path(asked), "")
    with TemporaryDirectory(prefix="treewright-") as folder:
        home = Path(folder).resolve()
        found = revisions.lay_out_object(*parts, home)
        return _editions(found, home, f"{parts[0]}:")


def read_revision(revision: str, path: str) -> list[Edition]:
    """The trees that a git revision has at a path.

    Raises:
        UsageError: there is no git, no such revision, or nothing there that can be read whole.
    """
    with TemporaryDirectory(prefix="treewright-") as folder:
        home = Path(folder).resolve()
        found = revisions.lay_out(revision, path, home)
        return _editions(found, home, f"{revision}:")


def paired(old: Sequence[Edition], new: Sequence[Edition]) -> list[Pair]:
    """Trees of the same name; of what is left, those at the same place.

    A single tree on either side is compared with the other, whatever both are called.
    """
    if len(old) == len(new) == 1 and not (old[0].key or new[0].key):
        return [Pair(old[0], new[0])]
    before = {one.outline.name: one for one in old}
    pairs, left = [], []
    for one in new:
        match = before.pop(one.outline.name, None)
        if match is None:
            left.append(one)
        else:
            pairs.append(Pair(match, one))
    places = {one.key: name for name, one in before.items()}
    for one in left:
        name = places.get(one.key)
        pairs.append(Pair(before.pop(name) if name is not None else None, one))
    pairs += [Pair(one, None) for one in before.values()]
    return sorted(pairs, key=_key)


def _key(pair: Pair) -> str:
    edition = pair.new or pair.old
    assert edition is not None
    return edition.key or edition.outline.name


def _editions(path: Path, home: Path, before: str) -> list[Edition]:
    """The trees at a path, named as if `home` were called `before`."""

    def shown(one: Path) -> str:
        return before + one.relative_to(home).as_posix() if before else one.as_posix()

    if before and path.is_dir() and not any(path.rglob("*.tree")):
        raise UsageError(f"there is no tree in `{before}`")
    project = Project()
    found = []
    for file in find_trees([str(path)]):
        loaded = project.load(file)
        if loaded.tree is None or not loaded.tree.library:
            outline = _compiled(loaded, shown(file))
            key = "" if path == file else file.relative_to(path).as_posix()
            assert loaded.tree is not None
            found.append(Edition(shown(file), key, outline, pictures(loaded.tree), loaded.tree))
    if not found:
        raise UsageError(f"`{shown(path)}` is a library: compare the trees that use it")
    return found


def _compiled(loaded: Loaded, shown: str) -> Outline:
    from treewright.render.compile import compile_tree

    lint = f"`treewright lint` says what is wrong in `{shown}`"
    for finding in loaded.findings:
        raise UsageError(
            f"`{shown}` cannot be read whole (line {finding.span.line}: {finding.message}): {lint}"
        )
    assert loaded.tree is not None
    try:
        return compile_tree(loaded.tree)
    except Exception:
        # No promise holds for compiling a tree with faults; with any other it is our own slip.
        if not any(finding.level is Level.FAULT for finding in lint_loaded(loaded)):
            raise
        raise UsageError(f"`{shown}` has faults and cannot be compared: {lint}") from None
