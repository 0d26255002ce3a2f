"""The code map of DEVELOPERS.md, made from the first sentence of each module.

`python tests/code_map.py` writes it anew.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
GUIDE = ROOT / "DEVELOPERS.md"
BLOCK = re.compile(r"(<!-- code map -->\n```\n)(.*?)(```)", re.S)

# The order of the pipeline; what is not named here comes after it, by name.
_ORDER = (
    "record.py", "resources.py", "workers.py", "kept.py", "text", "folder.py", "syntax", "model",
    "reason", "lint", "render", "report", "kept_findings.py", "project.py", "outputs.py",
    "progress.py", "build.py", "mend.py", "cli",
)  # fmt: skip


def code_map() -> str:
    """Every module with what it is for; the rules, one file each, are summed up."""
    package = ROOT / "src" / "treewright"
    lines: list[str] = []
    entries = {path.name: path for path in _entries(package)}
    for name in (*_ORDER, *sorted(set(entries) - set(_ORDER))):
        _add(entries[name], 0, lines)
    return "\n".join(lines) + "\n"


def _entries(folder: Path) -> list[Path]:
    inside = [
        path
        for path in folder.iterdir()
        if not path.name.startswith("_") and (path.is_dir() or path.suffix == ".py")
    ]
    return sorted(inside, key=lambda path: (path.is_dir(), path.name))


def _add(path: Path, depth: int, lines: list[str]) -> None:
    pad = "  " * depth
    if path.suffix == ".py":
        lines.append(f"{pad + path.name:<26}{_purpose(path)}")
    elif path.name == "rules":
        lines.append(f"{pad + 'rules/':<26}One file a rule: its text is its documentation")
    elif any(path.rglob("*.py")):
        lines.append(f"{pad}{path.name}/")
        for inside in _entries(path):
            _add(inside, depth + 1, lines)


def _purpose(path: Path) -> str:
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    first = " ".join(text.split("\n\n")[0].split())
    return re.split(r"(?<=[^.])\.(?: |$)", first)[0]


def main() -> None:
    text = GUIDE.read_text(encoding="utf-8")
    GUIDE.write_text(BLOCK.sub(lambda m: m[1] + code_map() + m[3], text), encoding="utf-8")


if __name__ == "__main__":
    main()
