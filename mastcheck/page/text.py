"""Text from outside made fit for the page, and numbers as people read them."""

from __future__ import annotations

import html
import math
import unicodedata

_HIDDEN = ("Cc", "Cf", "Cs", "Co", "Cn")  # control, format, surrogate, private, unassigned
_JOINERS = "\u200c\u200d"  # of category Cf, but part of the spelling of many scripts

LONGEST = 120
"""Characters of a name shown where it heads something; the whole of it stands among the inputs."""


MOST_MARKS = 6
"""Combining marks shown on one letter: more than any script stacks, and too few to hide other lines."""


def plain(text: str, longest: int | None = None) -> str:
    r"""One line of printable text: a character that cannot be seen is named by its code point.

    Marks that turn the direction of writing are among them: they could make one name look like another.

    >>> plain("a\x07b  c\u202e"), plain("abcdef", 4)
    ('a[U+0007]b c[U+202E]', 'abc…')
    """
    pieces: list[str] = []
    marks = 0
    for char in " ".join(text.split()):
        kind = unicodedata.category(char)
        marks = marks + 1 if kind in ("Mn", "Me") else 0
        hidden = kind in _HIDDEN and char not in _JOINERS
        pieces.append(f"[U+{ord(char):04X}]" if hidden or marks > MOST_MARKS else char)
    shown = "".join(pieces)
    if longest is not None and len(shown) > longest:
        shown = shown[: longest - 1].rstrip() + "…"
    return shown


def safe(text: str, longest: int | None = None) -> str:
    r"""The same as HTML text: nothing in it is markup.

    >>> safe("<b>&\"")
    '&lt;b&gt;&amp;&quot;'
    """
    return html.escape(plain(text, longest), quote=True)


PLACES = {"mm": 2, "deg": 2}
"""Most decimal places of a unit: finer digits of a movement are what arithmetic leaves."""


def figures(value: float | None, digits: int = 3, places: int = 6) -> str:
    """A number to so many significant figures, and to so many decimal places at most.

    >>> figures(0.012345), figures(12345.6), figures(None), figures(math.inf), figures(-1e-9, places=2)
    ('0.0123', '12 346', '–', 'none', '0')
    """
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "none"
    if round(value, places) == 0 and (value == 0 or places < 6):
        return "0"
    size = math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    if size < -4 or size > 8:
        return f"{value:.{digits - 1}e}".replace("-", "−")
    return f"{value:,.{min(max(digits - 1 - size, 0), places)}f}".replace(",", " ").replace("-", "−")


def given(value: float) -> str:
    """A number as a person states it: exact up to six figures, else to four; no idle zeros.

    >>> given(750.0), given(0.1), given(187.3929123)
    ('750', '0.1', '187.4')
    """
    value += 0.0
    exact = math.isclose(float(f"{value:.6g}"), value, rel_tol=1e-9)
    return f"{value:.{6 if exact else 4}g}".replace("-", "−")


def percent(value: float | None) -> str:
    """A utilisation in percent.

    >>> percent(0.5789), percent(math.inf), percent(None)
    ('57.9 %', '∞', 'not judged')
    """
    if value is None:
        return "not judged"
    return "∞" if math.isinf(value) else f"{100 * value:.1f} %"


def quantity(value: float | None, unit: str, *, stated: bool = False) -> str:
    """A value in a metric unit as HTML; the script shows it in the reader's units.

    ``stated``: an input, shown as a person states it.

    >>> quantity(12.345, "mm")
    '<span class="q" data-v="12.345" data-u="mm">12.3 mm</span>'
    """
    if value is None or not math.isfinite(value):
        return figures(value)
    label = "°" if unit == "deg" else f" {unit}" if unit else ""
    shown = given(value) if stated else figures(value, places=PLACES.get(unit, 6))
    mark = ' data-stated=""' if stated else ""
    return (
        f'<span class="q" data-v="{float(value)!r}" data-u="{html.escape(unit)}"{mark}>'
        f"{shown}{html.escape(label)}</span>"
    )
