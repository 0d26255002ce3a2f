"""A headless Chromium of the size of a phone, that notes whatever a page must not do."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from treewright import resources

CHROMIUM = Path("/usr/bin/chromium")
PHONE = {"width": 390, "height": 844}

# Where it must be there, a missing browser is a failure.
needs_chromium = pytest.mark.skipif(
    not CHROMIUM.exists() and "CI" not in os.environ, reason="no Chromium here"
)


@dataclass
class Visit:
    """An open page and its misdeeds: errors, messages, dialogs, requests beyond the file."""

    page: Page
    misdeeds: list[str] = field(default_factory=list)


@contextmanager
def chromium() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


_STORED = "() => JSON.stringify(Object.entries({ ...localStorage }).sort())"
_SAME_ORIGIN = resources.site() / "icon.svg"  # any file: all of them share what is stored


def reload(page: Page) -> None:
    """Loads a page again, once what it has stored can be seen by others.

    A page of a file may come up in another process, and a write of the old one may still be under
    way then. (Whoever reloads by hand is never that quick.)
    """
    if page.url.startswith("file:"):
        wanted = page.evaluate(_STORED)
        other = page.context.new_page()
        other.goto(_SAME_ORIGIN.as_uri())
        for _ in range(100):
            if other.evaluate(_STORED) == wanted:
                break
            other.wait_for_timeout(50)
        assert other.evaluate(_STORED) == wanted
        other.close()
    page.reload()


@contextmanager
def visit(
    browser: Browser, file: Path, *, anchor: str = "", width: int = 390, script: bool = True
) -> Iterator[Visit]:
    """Opens a file as by double-click; fails at the end if the page did what it must not."""
    context = browser.new_context(
        viewport={**PHONE, "width": width}, java_script_enabled=script, accept_downloads=True
    )
    page = context.new_page()
    page.set_default_timeout(5000)
    seen = Visit(page)
    note = seen.misdeeds.append
    page.on("pageerror", lambda error: note(f"error: {error}"))
    page.on("console", lambda message: note(f"console: {message.text}"))
    page.on("dialog", lambda dialog: (note(f"dialog: {dialog.message}"), dialog.dismiss()))
    own = file.resolve().as_uri()

    def asked(url: str) -> None:
        if url.split("#")[0] != own and not url.startswith(("data:image/", "blob:")):
            note(f"request: {url}")

    page.on("request", lambda request: asked(request.url))
    page.goto(own + anchor)
    yield seen
    context.close()
    assert seen.misdeeds == [], seen.misdeeds
