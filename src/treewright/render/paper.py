"""Makes a PDF from one of the templates beside this file and data. The only user of typst.

The same input gives the same bytes: only the two packaged type families are used, the date is
the one handed in, and nothing is read but the templates: typst is given files in memory alone,
whose names are ours. Author text reaches a template as data, never as its source. Nothing here
knows what a tree is or what a page shows.

A template begins with `#import "base.typ": paper, data` and `#show: paper`: title, language,
date and type are then set (see base.typ).
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from copy import copy
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from treewright.render.glyphs import FAMILIES, font_folder, legible_all
from treewright.render.glyphs import legible as legible
from treewright.render.glyphs import missing_glyphs as missing_glyphs

if TYPE_CHECKING:
    import typst

_TEMPLATES = Path(__file__).resolve().parent / "typst"
_PAGE_TREE = re.compile(rb"\d+ 0 obj\s*<</Type/Pages/Count (\d+)")


class PaperError(Exception):
    """The page could not be made. The message says why; it is a fault of the toolkit."""


class Press:
    """A template with what it is to set, in memory: gives a PDF, and what it says of its pages.

    Args:
        template: name of a file in render/typst.
        data: what the template reads as `data`: anything JSON can hold. In every string of it a
            character that no font has becomes a visible stand-in (render/glyphs). An SVG goes
            in as a string and is drawn with `image(bytes(data.svg), format: "svg", alt: …)`.
        title: the document's title.
        language: BCP 47.
        date: "YYYY-MM-DD", written into the document's particulars; None: no date.
        form: what the template reads as `form`: the same data serves every paper.
        pictures: PNG, JPEG, GIF or PDF by the name, of letters, digits and hyphens, under which
            the template gets it: `image(picture-bytes(name), alt: …)`.
        tagged: whether the PDF carries the structure of its text (PDF/UA-1). One that shows
            pages of other PDFs cannot.
    """

    def __init__(
        self,
        template: str,
        data: object,
        *,
        title: str,
        language: str = "en",
        date: str | None = None,
        form: Mapping[str, Any] | None = None,
        pictures: Mapping[str, bytes] | None = None,
        tagged: bool = True,
    ) -> None:
        self.template, self.tagged = template, tagged
        self._particulars: dict[str, Any] = {
            "title": " ".join(legible(title).split()),
            "language": _primary_language(language),
            "date": date or "",
            "steady": False,
        }
        self._files = {
            **_templates(),
            "main.typ": _templates()[template],
            "data.json": json.dumps(legible_all(data)).encode(),
        }
        for name, content in (pictures or {}).items():
            self._files[f"{name}.json"] = _numbers(content)
        self._set(form=form)

    def on(self, form: Mapping[str, Any]) -> Press:
        """The same on another paper."""
        other = copy(self)
        other._set(form=form, steady=False)
        return other

    def _set(self, **particulars: Any) -> None:
        self._particulars = {**self._particulars, **particulars}
        self._files = {**self._files, "particulars.json": json.dumps(self._particulars).encode()}

    def pdf(self) -> bytes:
        """The document.

        Raises:
            PaperError: it could not be made.
        """
        made, settled = _compile(self.template, self._files, self.tagged)
        if not settled:
            self._set(steady=True)
            made, _ = _compile(self.template, self._files, self.tagged)
        return made

    def told(self) -> Any:
        """What the template says of itself by `[#metadata(…)<told>]`: cheap after `pdf`.

        Raises:
            PaperError: it could not be laid out, or says nothing.
        """
        try:
            found = _compiler(self._files).query("<told>", field="value", one=True)
        except RuntimeError as error:
            raise _not_made(self.template, error) from error
        return json.loads(found)


def compile_pdf(
    template: str,
    data: object,
    *,
    title: str,
    language: str = "en",
    date: str | None = None,
    form: Mapping[str, Any] | None = None,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """One PDF: tagged (PDF/UA-1), fonts embedded, text selectable. Arguments as for `Press`.

    Raises:
        PaperError: the page could not be made.
    """
    return Press(
        template, data, title=title, language=language, date=date, form=form, pictures=pictures
    ).pdf()


def _compile(template: str, files: dict[str, bytes], tagged: bool = True) -> tuple[bytes, bool]:
    """The PDF, and whether all that it says of its own pages is so."""
    standards: list[Any] = ["ua-1"] if tagged else []
    try:
        compiler = _compiler(files)
        made, warnings = compiler.compile_with_warnings(format="pdf", pdf_standards=standards)
    except RuntimeError as error:  # TypstError is one of them
        raise _not_made(template, error) from error
    if not isinstance(made, bytes):
        raise PaperError(f"the page {template} came out empty")
    return made, not any("did not converge" in warning.message for warning in warnings)


def compile_pictures(template: str, data: object, pdf: bytes, sharpness: float) -> list[bytes]:
    """The pages of a template as PNG.

    Args:
        template, data: as for `compile_pdf`.
        pdf: what the template gets as `picture-bytes("pdf")`.
        sharpness: pixels an inch.

    Raises:
        PaperError: they could not be made.
    """
    files = {
        **_templates(),
        "main.typ": _templates()[template],
        "data.json": json.dumps(data).encode(),
        "particulars.json": b'{"title": "", "date": "", "form": null, "size": "", "steady": false}',
        "pdf.json": _numbers(pdf),
    }
    try:
        made = _compiler(files).compile(format="png", ppi=sharpness)
    except RuntimeError as error:
        raise PaperError(f"the page {template} could not be drawn: {error}") from error
    return [one for one in (made if isinstance(made, list) else [made]) if isinstance(one, bytes)]


def _not_made(template: str, error: Exception) -> PaperError:
    return PaperError(f"the page {template} could not be made: {error}")


def _compiler(files: dict[str, bytes]) -> typst.Compiler:
    import typst

    return typst.Compiler(files, font_paths=fonts())  # type: ignore[type-var]


def drawable(picture: bytes) -> bool:
    """Whether the bytes are a PNG, JPEG or GIF that a template can draw."""
    if not picture.startswith((b"\x89PNG\r\n", b"\xff\xd8\xff", b"GIF8")):
        return False
    files = {"main.typ": b'#image(bytes(json("picture.json")))', "picture.json": _numbers(picture)}
    try:
        _compiler(files).query("heading")
    except RuntimeError:  # what typst raises here for a damaged one
        return False
    return True


def _numbers(content: bytes) -> bytes:
    """As JSON: files in memory must be text."""
    return json.dumps(list(content), separators=(",", ":")).encode()


def pages(pdf: bytes) -> int:
    """How many pages a PDF made here has."""
    found = _PAGE_TREE.search(pdf)
    if found is None:
        raise PaperError("these bytes are no PDF made by compile_pdf")
    return int(found[1])


def _primary_language(tag: str) -> str:
    """The language proper of a BCP 47 tag; "en" where it is none that a page can carry."""
    primary = tag.split("-")[0].lower()
    return primary if re.fullmatch(r"[a-z]{2,3}", primary) else "en"


@cache
def _templates() -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in sorted(_TEMPLATES.glob("*.typ"))}


@cache
def fonts() -> typst.Fonts:
    """The packaged type families, read once for a process."""
    import typst

    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(font_folder(package)) for package in FAMILIES],
    )
