"""What every page of HTML is made with: templates, style sheets, and a policy against addresses.

Templates and style sheets are hand-written files in site/. All values are escaped; only what
`markup` was given stands as it is. Knows nothing of trees.
"""

from __future__ import annotations

import re
import zlib
from base64 import b64encode
from collections.abc import Iterable
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from treewright import resources
from treewright.render import prose

if TYPE_CHECKING:
    from jinja2 import Environment


def render(template: str, **values: Any) -> str:
    """A template of site/ with values put in, each of them escaped."""
    return _environment().get_template(template).render(**values)


def read_templates(*names: str) -> None:
    """Reads templates of site/ ahead: each is read once for a process, which takes a while."""
    for name in names:
        _environment().get_template(name)


def static_page(template: str, sheets: Iterable[str], drawing: str = "", **values: Any) -> str:
    """A page without script: the template gets `style` and `policy` besides its values.

    Args:
        template: its name in site/.
        sheets: names of style sheets in site/, in their order.
        drawing: SVG that the template puts in; what style it carries is let in.
        values: what the template shows.
    """
    style = style_of(sheets)
    return render(
        template,
        style=markup(style),
        policy=policy((), (style, *styles_in(drawing))),
        **values,
    )


def style_of(sheets: Iterable[str]) -> str:
    """Style sheets of site/ as one, without the blanks that only help to read them.

    Our own files keep to what this asks of them: no text in quotes with such a mark and a blank.
    """
    text = lean("".join(read(name) for name in sheets))
    return re.sub(r"\s*([{};])\s*|([:,])\s+", r"\1\2", text)


def policy(scripts: Iterable[str], styles: Iterable[str], *, installed: bool = False) -> str:
    """A content security policy that lets in these scripts and styles, and no address.

    Args:
        scripts: the text of every script in the page.
        styles: the text of every style sheet in the page.
        installed: lets in what lies beside the page to install it, too: manifest, icon, worker.
    """
    beside = ("manifest-src 'self'", "worker-src 'self'") if installed else ()
    return "; ".join(
        (
            "default-src 'none'",
            "script-src " + (" ".join(map(_hash, scripts)) or "'none'"),
            "style-src " + (" ".join(map(_hash, styles)) or "'none'"),
            "img-src data:" + " 'self'" * installed,  # the icon of the manifest
            "base-uri 'none'",
            "form-action 'none'",
            *beside,
        )
    )


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def bare_svg(svg: str) -> str:
    """An SVG document as it may stand inside a page: from its root element on."""
    start = svg.find("<svg")
    return svg[start:].strip() if start >= 0 else ""


def styles_in(svg: str) -> tuple[str, ...]:
    """The style sheets that an SVG carries."""
    return tuple(re.findall(r"<style[^>]*>(.*?)</style>", svg, re.DOTALL))


@cache
def packed(script: str) -> str:
    """A script as site/js/unpack.js takes it: less than half as large."""
    return b64encode(zlib.compress(script.encode(), 9)).decode()


def lean(text: str) -> str:
    """A style sheet or script without indentation, blank lines and lines of comment alone.

    Our own files keep to what this asks of them: no comment longer than its line, and no
    text over several lines.
    """
    lines = (line.strip() for line in text.splitlines())
    return "".join(f"{line}\n" for line in lines if line and not line.startswith(("//", "/*")))


@cache
def read(name: str) -> str:
    """A file of site/."""
    return (resources.site() / name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(resources.site(), encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["prose"] = lambda text: markup(prose.html(text))
    environment.filters["line"] = lambda text: markup(prose.inline_html(text))
    environment.filters["plain"] = prose.plain
    return environment


def markup(text: str) -> str:
    """Text that is HTML already: our own files, and what `render/prose` made safe."""
    from markupsafe import Markup

    return Markup(text)
