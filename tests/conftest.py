"""What the tests share: `--bless` writes what is found as what is expected; a cache of theirs."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--bless", action="store_true",
        help="write what the tests find into their expectations, to be read before it is kept",
    )  # fmt: skip


@pytest.fixture(autouse=True, scope="session")
def cache_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What is kept between runs is kept elsewhere than for the user who runs the tests."""
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["XDG_CACHE_HOME"]
    else:
        os.environ["XDG_CACHE_HOME"] = before


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
