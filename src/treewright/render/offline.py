"""What lets a folder of pages be installed from a static host and used without a network.

A service worker that keeps the pages on the device, a web app manifest (W3C) and an icon. The
name of the worker's cache comes from the content of the pages, so that a change of any page
is an edition of its own. From a stick (file://) none of this is used.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from hashlib import sha256

from treewright.render import web
from treewright.render.words import FALLBACK, catalogue

WORKER, MANIFEST, ICON = "sw.js", "manifest.webmanifest", "icon.svg"


def files(pages: Mapping[str, bytes], start: str) -> dict[str, bytes]:
    """The files that stand beside the pages, by name.

    Args:
        pages: every page of the folder by its name, with its content.
        start: the name of the page that is opened first.
    """
    beside = {MANIFEST: _manifest(start), ICON: web.read(ICON).encode()}
    return {WORKER: _worker({**pages, **beside}), **beside}


def kept(worker: bytes) -> tuple[str, ...]:
    """The pages that a worker of ours keeps, by name; none where it is not one of ours."""
    found = re.search(rb"^const FILES = (.*);$", worker, re.MULTILINE)
    try:
        names = json.loads(found[1]) if found else []
    except ValueError:
        return ()
    if not isinstance(names, list):
        return ()
    # Names of files beside it only: a worker may have been written by another hand.
    plain = [name for name in names if isinstance(name, str) and re.fullmatch(r"[\w.-]+", name)]
    return tuple(name for name in plain if name.endswith(".html"))


def _worker(kept: Mapping[str, bytes]) -> bytes:
    source = web.lean(web.read(WORKER))
    edition = sha256(source.encode())
    for name, content in sorted(kept.items()):
        edition.update(sha256(name.encode()).digest() + sha256(content).digest())
    head = (
        f"const EDITION = {json.dumps(edition.hexdigest()[:16])};\n"
        f"const FILES = {json.dumps(sorted(kept))};\n"
    )
    return (head + source).encode()


def _manifest(start: str) -> bytes:
    name = catalogue(FALLBACK).say("index")
    content = {
        "name": name,
        "short_name": name,
        "lang": FALLBACK,
        "start_url": start,
        "scope": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": "#ffffff",
        "icons": [{"src": ICON, "type": "image/svg+xml", "sizes": "any"}],
    }
    return (json.dumps(content, indent=1) + "\n").encode()
