"""Where the time goes as a picture: bars as SVG, for a file of its own or within a page.

Kinds differ by their filling, so that it reads in black and white; type is 9 pt at the size the
picture has. Author text is escaped. The whole of it is said in `title` and `desc` as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from treewright.reason.minutes import Kind
from treewright.reason.order.instance import Last
from treewright.reason.weigh import Bar
from treewright.render.chart.svg import FAMILY
from treewright.render.chart.type import clean, width
from treewright.report.weigh import kind_of, percent, roughly
from treewright.report.weighed import Weighing

WIDE = 540.0  # points: fits A4 and letter
_SIZE, _HEAD = 9.0, 11.0  # type, in points
_ROW, _GAP, _EDGE = 16.0, 8.0, 6.0
_LABEL, _VALUE = 230.0, 118.0  # room for the words ahead of a bar, and behind the longest
_KINDS: tuple[Kind, ...] = ("check", "step", "set-up", "undo", "remedy")


def picture(
    found: Sequence[Weighing], last: Last, title: str, language: str = "en", key: str = "weigh"
) -> str:
    """The bars of some symptoms, one below the other, as one `svg` element.

    Args:
        found: what was weighed; what could not be is left out.
        last: whether the last cause is inferred or confirmed.
        title: of the tree.
        language: a tag of BCP 47.
        key: what the names within the picture begin with: another one for each in a page.
    """
    parts: list[str] = []
    told: list[str] = []
    kinds: set[Kind] = set()
    high = _EDGE + 2 * _ROW
    for one in found:
        if one.weighed is None:
            continue
        bars = one.weighed.bars(last)
        kinds |= {bar.item.kind for bar in bars}
        expected = one.weighed.figures(last).expected
        head = f"{one.symptom.title.text}{one.on}: {roughly(expected)} expected"
        high += _GAP + _ROW
        parts.append(_words(_EDGE, high - 5, _fit(head, WIDE - 2 * _EDGE, _HEAD), _HEAD, bold=True))
        told.append(f"{clean(head)}. " + "; ".join(map(_said, bars)) + ".")
        most = max((float(bar.minutes or 0) for bar in bars), default=0.0)
        for bar in bars:
            parts.append(_bar(bar, high, most, key))
            high += _ROW
    high += _EDGE
    name = f"Where the time goes, last cause {last}: {clean(title)}"
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" lang={quoteattr(language)}'
            f' width="{WIDE:g}pt" height="{high:g}pt" viewBox="0 0 {WIDE:g} {high:g}"'
            f' font-family="{FAMILY}" aria-labelledby={quoteattr(f"{key}-title {key}-desc")}>',
            f"<title id={quoteattr(f'{key}-title')}>{escape(name)}</title>",
            f"<desc id={quoteattr(f'{key}-desc')}>{escape(' '.join(told))}</desc>",
            _patterns(key),
            f'<rect width="{WIDE:g}" height="{high:g}" fill="#fff"/>',
            *_legend(kinds, last, key),
            *parts,
            "</svg>",
            "",
        )
    )


def _said(bar: Bar) -> str:
    return f"{_name(bar)} {_time(bar)}, in {percent(bar.jobs)} of jobs"


def _name(bar: Bar, room: float | None = None) -> str:
    """Number, title and kind; the title cut where they are too long for the room."""
    kind = f" ({kind_of(bar)})" if kind_of(bar) else ""
    title = clean(f"{bar.item.number} {bar.item.title or bar.item.name}")
    return (title if room is None else _fit(title, room - width(kind, _SIZE), _SIZE)) + kind


def _time(bar: Bar) -> str:
    return "no time is written" if bar.minutes is None else roughly(bar.minutes)


def _bar(bar: Bar, top: float, most: float, key: str) -> str:
    room = WIDE - 2 * _EDGE - _LABEL - _VALUE
    long = room * float(bar.minutes or 0) / most if most else 0.0
    left, base = _EDGE + _LABEL, top + 11
    value = f"{_time(bar)}, in {percent(bar.jobs)}"
    return (
        f"<g><title>{escape(_said(bar))}</title>"
        + _words(left - 5, base, _name(bar, _LABEL - 5), _SIZE, end=True)
        + f'<rect x="{left:g}" y="{top + 2:g}" width="{long:.1f}" height="{_ROW - 4:g}"'
        f' {_filling(bar.item.kind, key)}/>'
        + _words(left + long + 5, base, value, _SIZE)
        + "</g>"
    )


def _filling(kind: Kind, key: str) -> str:
    fill = {
        "check": "#222",
        "step": "#aaa",
        "set-up": f"url(#{key}-leaning)",
        "undo": "#fff",
        "remedy": f"url(#{key}-dotted)",
    }[kind]
    return f'fill={quoteattr(fill)} stroke="#222" stroke-width="0.75"'


def _patterns(key: str) -> str:
    return (
        f'<defs><pattern id={quoteattr(f"{key}-leaning")} width="5" height="5"'
        ' patternUnits="userSpaceOnUse"><rect width="5" height="5" fill="#fff"/>'
        '<path d="M-1 1L1 -1M0 5L5 0M4 6L6 4" stroke="#222"/></pattern>'
        f'<pattern id={quoteattr(f"{key}-dotted")} width="4" height="4"'
        ' patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#fff"/>'
        '<circle cx="2" cy="2" r="1" fill="#222"/></pattern></defs>'
    )


def _legend(kinds: set[Kind], last: Last, key: str) -> list[str]:
    parts, left = [], _EDGE
    for kind in _KINDS:
        if kind in kinds:
            filling = _filling(kind, key)
            parts.append(f'<rect x="{left:g}" y="8" width="14" height="9" {filling}/>')
            parts.append(_words(left + 18, 16, kind, _SIZE))
            left += 18 + width(kind, _SIZE) + 12
    said = f"Last cause {last}. Minutes expected in a job, and in how many jobs it is done at all."
    parts.append(_words(_EDGE, 16 + _ROW, said, _SIZE))
    return parts


def _words(
    left: float, base: float, text: str, size: float, *, bold: bool = False, end: bool = False
) -> str:
    more = (' font-weight="bold"' if bold else "") + (' text-anchor="end"' if end else "")
    return (
        f'<text x="{left:.1f}" y="{base:.1f}" font-size="{size:g}" fill="#000"{more}>'
        f"{escape(text)}</text>"
    )


def _fit(text: str, room: float, size: float) -> str:
    """One line of a text, cut where it is too long for the room."""
    text = clean(text)
    if width(text, size) <= room:
        return text
    while text and width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"
