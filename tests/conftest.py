"""What the tests share: `--bless` writes what is found as what is expected."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--bless", action="store_true",
        help="write what the tests find into their expectations, to be read before it is kept",
    )  # fmt: skip


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[Path, str], None]:
    """Compares a text with a file, or writes the file where blessed."""

    def compare(path: Path, text: str) -> None:
        if request.config.getoption("--bless"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
            return
        expected = path.read_text(encoding="utf-8") if path.exists() else "(there is no such file)"
        assert text == expected, f"{path.name} differs; read it, then `pytest --bless`"

    return compare
