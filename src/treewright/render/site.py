"""The walk-through: one self-contained page for each tree, and a start page for a folder.

The page holds the whole tree as a document, readable without script; its script hides that
document, walks a copy of it one step at a time and takes every word of an author from there.
What decides (ways, limits, set-up) travels as JSON. Templates, style sheet and script are
hand-written files in site/. Knows nothing of files or folders on disk.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from html import escape

from treewright.record import record
from treewright.render import walk, web
from treewright.render.outline import Condition, Hazard, Node, Outline, Procedure, Stage
from treewright.render.words import FALLBACK, Catalogue, catalogue, languages

WALK_SCRIPTS = (
    "words.js",
    "store.js",
    "exact.js",
    "tree.js",
    "facts.js",
    "suspects.js",
    "places.js",
    "change.js",
    "job.js",
    "page.js",
    "hazards.js",
    "reading.js",
    "clock.js",
    "jobs.js",
    "edition.js",
    "record.js",
    "open.js",
    "report.js",
    "screens.js",
    "start.js",
    "update.js",
    "main.js",
)
"""In this order: each uses only what stands before it."""

ONLY_BUILT = ("note", "way.", "limit.", "index.", "doc.")
"""How words start that no script says: they are put in when a page is made."""

ALSO_SAID = ("doc.chart", "doc.show-chart", "doc.law")
"""Of these, the ones that stand around the document, and are said again in another language."""

OUTPUTS = (
    (".html", "index.walk"),
    ("-chart.svg", "index.chart"),
    ("-chart.pdf", "index.chart-pdf"),
    ("-a4.pdf", "index.a4"),
    ("-letter.pdf", "index.letter"),
)
"""What stands beside the start page for each tree: the end of the file's name, and a word."""

INDEX_WORDS = ("language", "index", "index.", "tools.language", "update")
"""How the words of the start page start."""


@record
class Group:
    """Nodes under one heading of the document."""

    title: str
    stage: Stage | None
    nodes: tuple[Node, ...]


@record
class Text:
    """The document of a tree in one language, with what its template looks up.

    `id` and `ahead`: its element, and what its anchors start with. `own`: the attributes of
    an element that holds the author's words.
    """

    outline: Outline
    words: Catalogue
    id: str
    ahead: str
    own: str
    data: str
    groups: Sequence[Group]
    hazards: Mapping[str, Hazard]
    conditions: Mapping[str, Condition]
    places: Mapping[str, Mapping[str, str]]


def page(
    outline: Outline,
    chart_svg: str = "",
    pictures: Mapping[str, bytes] | None = None,
    translations: Sequence[Outline] = (),
    preview: str = "",
) -> str:
    """The walk-through of a tree, as one HTML page that needs nothing else.

    Args:
        outline: the compiled tree.
        chart_svg: the tree's chart as `render/chart` makes it; "" for none. Each node's
            group has the id "node-NAME".
        pictures: the bytes of each picture (PNG, JPEG, GIF or WebP), by the file as the
            tree writes it. One that is missing or of another kind is said to be missing.
        translations: the same tree in other languages.
        preview: the file beside it that shows what is printed; "" for none.

    Returns:
        The page's text; the same for the same arguments.
    """
    style = web.style_of(("base.css", "document.css"))
    script, unpack = walk_script(), web.lean(web.read("js/unpack.js"))
    chart = web.bare_svg(chart_svg)
    texts = (_text(outline), *(_text(one, one.language) for one in translations))
    return web.render(
        "page.html",
        outline=outline,
        page_language=texts[0].words.language,
        policy=web.policy(
            (unpack, script), (style, _walk_style(), *web.styles_in(chart)), installed=True
        ),
        style=web.markup(style),
        packed=web.packed(script),
        unpack=web.markup(unpack),
        chart=web.markup(chart),
        texts=texts,
        pictures=_data_addresses(pictures or {}),
        preview=preview,
    )


def get_ready() -> None:
    """Reads and packs ahead what all walk-throughs share."""
    web.packed(walk_script())
    web.read_templates("page.html", "document.html", "parts.html")


@cache
def walk_script() -> str:
    """The script of every walk-through, with its style and the words of all languages."""
    keys = [
        key
        for key in catalogue(FALLBACK).words
        if key in ALSO_SAID or not key.startswith(ONLY_BUILT)
    ]
    known = {one: [catalogue(one).words[key] for key in keys] for one in languages()}
    first = (
        f"const STYLE = {_json(_walk_style())};\n"
        f"const KEYS = {_json(keys)};\n"
        f"const WORDS = {_json(known)};\n"
    )
    return _joined(WALK_SCRIPTS, first)


def _walk_style() -> str:
    return web.style_of(("walk.css",))


def _text(outline: Outline, language: str = "") -> Text:
    """The document of an outline; `language`: of a translation, "" for the tree's own words."""
    words = catalogue(outline.language)
    primary = outline.language.lower().partition("-")[0]
    own = "" if primary == words.language else f' lang="{escape(outline.language)}"'
    return Text(
        outline=outline,
        words=words,
        id=f"document-{language}" if language else "document",
        ahead=f"{language}-" if language else "",
        own=web.markup(f'dir="auto"{own}'),
        data=web.markup(_json(walk.data(outline))),
        groups=_groups(outline, words),
        hazards={hazard.name: hazard for hazard in outline.hazards},
        conditions={condition.name: condition for condition in outline.conditions},
        places=_places(outline),
    )


def index(
    outlines: Sequence[Outline],
    outputs: Iterable[tuple[str, str]] = OUTPUTS,
    translations: Mapping[str, Sequence[Outline]] | None = None,
) -> str:
    """The start page for a folder of trees, with links relative to that folder.

    Args:
        outlines: the trees, in the order in which they are to stand.
        translations: the same trees in other languages, by their names.
        outputs: the files that stand beside the page for each tree: the end of the name,
            after the tree's own, and the key of the words of the link.
    """
    style = web.style_of(("base.css", "index.css"))
    keys = [key for key in catalogue(FALLBACK).words if key.startswith(INDEX_WORDS)]
    known = {one: [catalogue(one).words[key] for key in keys] for one in languages()}
    script = _joined(
        ("words.js", "store.js", "update.js", "index.js"),
        f"const KEYS = {_json(keys)};\nconst WORDS = {_json(known)};\n",
    )
    spoken = {outline.language for outline in outlines}
    return web.render(
        "index.html",
        words=catalogue(spoken.pop() if len(spoken) == 1 else FALLBACK),
        languages=[catalogue(one) for one in languages()],
        names=_Tongues(),
        policy=web.policy((script,), (style,), installed=True),
        style=web.markup(style),
        script=web.markup(script),
        trees=[(one, *(translations or {}).get(one.name, ())) for one in outlines],
        machines=sorted({outline.machine for outline in outlines}),
        outputs=tuple(outputs),
    )


class _Tongues(dict[str, str]):
    """What a language is called in itself; one without a catalogue by its tag."""

    def __missing__(self, tag: str) -> str:
        known = catalogue(tag)
        return known.say("language") if tag.startswith(known.language) else tag


def _groups(outline: Outline, words: Catalogue) -> list[Group]:
    """Steps under their stages, in the order of the tree; then findings; then ends."""
    stages = {stage.name: stage for stage in outline.stages}
    by_stage: dict[str | None, list[Node]] = {}
    faults, ends = [], []
    for node in outline.nodes:
        match node.kind:
            case "fault":
                faults.append(node)
            case "handoff" | "done":
                ends.append(node)
            case _:
                by_stage.setdefault(node.stage, []).append(node)
    groups = []
    for name, nodes in by_stage.items():
        stage = stages[name] if name else None
        title = stage.title if stage else words.say("doc.steps")
        groups.append(Group(title, stage, tuple(nodes)))
    if faults:
        groups.append(Group(words.say("doc.findings"), None, tuple(faults)))
    if ends:
        groups.append(Group(words.say("doc.ends"), None, tuple(ends)))
    return groups


def _places(outline: Outline) -> dict[str, dict[str, str]]:
    """Where a name leads inside the page. A node goes before a procedure of the same name."""
    found: dict[str, dict[str, str]] = {}
    for procedure in outline.procedures:
        found[procedure.name] = _place(procedure, "procedure")
    for node in outline.nodes:
        found[node.name] = _place(node, "step")
    return found


def _place(it: Node | Procedure, kind: str) -> dict[str, str]:
    return {"number": it.number, "title": it.title, "anchor": f"{kind}-{it.name}"}


_IN_SCRIPT = str.maketrans(
    {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}
)


def _json(value: object) -> str:
    """JSON that cannot end the element it stands in."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).translate(_IN_SCRIPT)


_PICTURE_KINDS = (
    (b"\x89PNG\r\n\x1a\n", 0, "png"),
    (b"\xff\xd8\xff", 0, "jpeg"),
    (b"GIF8", 0, "gif"),
    (b"WEBP", 8, "webp"),
)


def _data_addresses(pictures: Mapping[str, bytes]) -> dict[str, str]:
    found = {}
    for file, content in pictures.items():
        for mark, at, kind in _PICTURE_KINDS:
            if content[at : at + len(mark)] == mark:
                found[file] = f"data:image/{kind};base64,{b64encode(content).decode()}"
    return found


def _joined(names: Iterable[str], first: str = "") -> str:
    """Script files as one scope of their own, behind a first line."""
    parts = web.lean("".join(web.read(f"js/{name}") for name in names))
    return f"(() => {{\n'use strict';\n{first}{parts}}})();"
