"""A headless Chromium of the size of a phone, that notes whatever a page must not do."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

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
    assert seen.misdeeds == []
