"""Where the time goes as a picture: bars as SVG, for a file of its own or within a page.

Kinds differ by their filling, so that it reads in black and white.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import quoteattr

from treewright.reason.minutes import Kind
from treewright.reason.order.instance import Last
from treewright.reason.weigh import Bar
from treewright.render.chart.type import clean, width
from treewright.report.picture import EDGE, HEAD, SIZE, escape, fit, picture, words
from treewright.report.weigh import kind_of, percent, roughly
from treewright.report.weighed import Weighing

WIDE = 540.0  # points: fits A4 and letter
_ROW, _GAP = 16.0, 8.0
_LABEL, _VALUE = 230.0, 118.0  # room for the words ahead of a bar, and behind the longest
_KINDS: tuple[Kind, ...] = ("check", "step", "set-up", "undo", "remedy")


def weigh_picture(
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
    high = EDGE + 2 * _ROW
    for one in found:
        if one.weighed is None:
            continue
        bars = one.weighed.bars(last)
        kinds |= {bar.item.kind for bar in bars}
        expected = one.weighed.figures(last).expected
        head = f"{one.symptom.title.text}{one.on}: {roughly(expected)} expected"
        high += _GAP + _ROW
        parts.append(words(EDGE, high - 5, fit(head, WIDE - 2 * EDGE, HEAD), HEAD, bold=True))
        told.append(f"{clean(head)}. " + "; ".join(map(_said, bars)) + ".")
        most = max((float(bar.minutes or 0) for bar in bars), default=0.0)
        for bar in bars:
            parts.append(_bar(bar, high, most, key))
            high += _ROW
    high += EDGE
    name = f"Where the time goes, last cause {last}: {title}"
    drawn = (_patterns(key), *_legend(kinds, last, key), *parts)
    return picture(WIDE, high, key, language, name, " ".join(told), drawn)


def _said(bar: Bar) -> str:
    return f"{_name(bar)} {_time(bar)}, in {percent(bar.jobs)} of jobs"


def _name(bar: Bar, room: float | None = None) -> str:
    """Number, title and kind; the title cut where they are too long for the room."""
    kind = f" ({kind_of(bar)})" if kind_of(bar) else ""
    title = clean(f"{bar.item.number} {bar.item.title or bar.item.name}")
    return (title if room is None else fit(title, room - width(kind, SIZE))) + kind


def _time(bar: Bar) -> str:
    return "no time is written" if bar.minutes is None else roughly(bar.minutes)


def _bar(bar: Bar, top: float, most: float, key: str) -> str:
    room = WIDE - 2 * EDGE - _LABEL - _VALUE
    long = room * float(bar.minutes or 0) / most if most else 0.0
    left, base = EDGE + _LABEL, top + 11
    value = f"{_time(bar)}, in {percent(bar.jobs)}"
    return (
        f"<g><title>{escape(_said(bar))}</title>"
        + words(left - 5, base, _name(bar, _LABEL - 5), at="end")
        + f'<rect x="{left:g}" y="{top + 2:g}" width="{long:.1f}" height="{_ROW - 4:g}"'
        f' {_filling(bar.item.kind, key)}/>'
        + words(left + long + 5, base, value)
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
    parts, left = [], EDGE
    for kind in _KINDS:
        if kind in kinds:
            filling = _filling(kind, key)
            parts.append(f'<rect x="{left:g}" y="8" width="14" height="9" {filling}/>')
            parts.append(words(left + 18, 16, kind))
            left += 18 + width(kind, SIZE) + 12
    said = f"Last cause {last}. Minutes expected in a job, and in how many jobs it is done at all."
    parts.append(words(EDGE, 16 + _ROW, said))
    return parts

