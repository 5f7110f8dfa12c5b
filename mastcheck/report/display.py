"""Numbers as people read them: display units, significant figures, safe text.

Everything inside is SI. Reports start from the trade's metric units (mm, N, MPa) and convert
to imperial here and nowhere else; results are not touched.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import cache
from typing import Literal

from mastcheck.report.fonts import covered, font_files

System = Literal["metric", "imperial"]

_LBF = 4.4482216152605  # N, exact
_INCH = 25.4  # mm, exact
_LB = 0.45359237  # kg, exact
_FT_LBF = 1.3558179483314  # N·m

_IMPERIAL: dict[str, tuple[float, str]] = {
    "mm": (1 / _INCH, "in"),
    "m": (1 / 0.3048, "ft"),
    "m²": (1 / 0.3048**2, "ft²"),
    "kg": (1 / _LB, "lb"),
    "kg/m": (0.3048 / _LB, "lb/ft"),
    "kg/m³": (0.3048**3 / _LB, "lb/ft³"),
    "N": (1 / _LBF, "lbf"),
    "N·m": (1 / _FT_LBF, "lbf·ft"),
    "MPa": (_INCH**2 / _LBF / 1000, "ksi"),
    "GPa": (_INCH**2 / _LBF / 1000, "Msi"),
    "N·m²": (1e6 / _LBF / _INCH**2 / 1000, "10³ lbf·in²"),
    "mm per 100 N": (_LBF / _INCH / 10, "in per 10 lbf"),
    "deg per 10 N·m": (_FT_LBF, "deg per 10 lbf·ft"),
    "N·m per deg": (1 / _FT_LBF, "lbf·ft per deg"),
    "m/s": (3600 / 1852, "kn"),
    "kg·m²": (1 / _LB / 0.3048**2, "lb·ft²"),
}
_ALIASES = {
    "mm/100N": "mm per 100 N",
    "mm/100 N": "mm per 100 N",
    "deg/10Nm": "deg per 10 N·m",
    "deg/10 N·m": "deg per 10 N·m",
    "deg per 10 Nm": "deg per 10 N·m",
    "N·m/deg": "N·m per deg",
    "Nm/deg": "N·m per deg",
    "N m per deg": "N·m per deg",
    "Nm2": "N·m²",
    "N m2": "N·m²",
    "N·m2": "N·m²",
}


def unit_label(unit: str, system: System) -> str:
    """The label under which a metric unit is printed."""
    unit = _ALIASES.get(unit, unit)
    label = _IMPERIAL[unit][1] if system == "imperial" and unit in _IMPERIAL else unit
    return "°" if label == "deg" else label


def factor(unit: str, system: System) -> float:
    """What a value in a metric unit is multiplied by for display."""
    unit = _ALIASES.get(unit, unit)
    return _IMPERIAL[unit][0] if system == "imperial" and unit in _IMPERIAL else 1.0


def number(value: float | None, digits: int = 3) -> str:
    """A number to so many significant figures, without exponents where that stays readable.

    >>> number(0.012345), number(12345.6), number(-0.0), number(None), number(float("inf"))
    ('0.0123', '12 346', '0', '–', 'none')
    """
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "none"
    if value == 0:
        return "0"
    size = math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    if size < -4 or size > 8:
        return f"{value:.{digits - 1}e}".replace("-", "−")
    text = f"{value:,.{max(digits - 1 - size, 0)}f}".replace(",", "\u202f").replace("-", "−")
    return text.replace("\u202f", " ")


def given(value: float | None) -> str:
    """A number as a person states it: exact up to six figures, else to four; no idle zeros.

    >>> given(80.0), given(1574.8), given(85 / 0.45359237), given(-0.0)
    ('80', '1574.8', '187.4', '0')
    """
    if value is None:
        return "–"
    value += 0.0
    exact = math.isclose(float(f"{value:.6g}"), value, rel_tol=1e-9)
    return f"{value:.{6 if exact else 4}g}".replace("-", "−")


def stated(value: float | None, unit: str, system: System) -> str:
    """An input given in a metric unit, as a person states it, with the unit it is shown in."""
    if value is None:
        return "–"
    return f"{given(value * factor(unit, system))} {unit_label(unit, system)}"


def fixed(value: float | None, places: int) -> str:
    """A number to so many decimal places; a value that rounds to nothing loses its sign."""
    if value is None or math.isnan(value):
        return "–"
    if math.isinf(value):
        return "none"
    rounded = round(value, places) + 0.0
    return f"{rounded:.{places}f}".replace("-", "−")


def used(value: float | None) -> str:
    """A utilisation; endless where nothing is left to hold the load.

    >>> used(0.5), used(float("inf")), used(None)
    ('0.50', '∞', '–')
    """
    return "∞" if value is not None and math.isinf(value) else fixed(value, 2)


def quantity(value: float | None, unit: str, system: System, digits: int = 3) -> str:
    """A value given in a metric unit, with the unit in which it is shown."""
    if value is None:
        return "–"
    label = unit_label(unit, system)
    gap = "" if label in ("", "°") else " "
    return f"{number(value * factor(unit, system), digits)}{gap}{label}"


_HIDDEN = ("Cc", "Cf", "Cs", "Co", "Cn")  # control, format, surrogate, private, unassigned


def plain(text: str, longest: int | None = None) -> str:
    """Text from outside made fit for any page: one line, printable, in the fonts at hand.

    A character that no font at hand can draw is named by its code point (``NAMED``), since a blank
    box would make two masts look alike and archival PDF refuses it. ``longest``: in characters, wide
    ones (Chinese, Japanese, Korean) counting as two.
    """
    # Composed letters have glyphs of their own; a mark set over a letter may not.
    whole = unicodedata.normalize("NFC", " ".join(text.split()))
    pieces = [c if _drawable(c) else f"[U+{ord(c):04X}]" for c in whole]
    if longest is None:
        return "".join(pieces)
    kept, room = [], longest
    for piece in pieces:
        room -= sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in piece)
        kept.append((piece, room))
    if room >= 0:
        return "".join(pieces)
    return "".join(piece for piece, left in kept if left >= 1).rstrip() + "…"


NAMED = re.compile(r"\[U\+[0-9A-F]{4,6}\]")
"""What stands for a character that no font at hand can draw."""


@cache
def _drawable(char: str) -> bool:
    kind = unicodedata.category(char)
    # A mark that no letter takes up (after composing) leaves a figure's text without a glyph, which
    # archival PDF refuses; and many on one letter would lie over the lines around it.
    if kind in _HIDDEN or kind.startswith("M"):
        return False
    return any(ord(char) in covered(font) for font in font_files())


def breakable(text: str) -> str:
    """Plain text with places to break inside words too long for a line or a table cell."""
    return " ".join(
        "\u200b".join(word[i : i + 18] for i in range(0, len(word), 18))
        for word in plain(text).split(" ")
    )


def isolated(text: str) -> str:
    """Words that run from right to left kept to themselves, so that numbers beside them stay in place.

    >>> isolated("Quay Lane"), isolated("\u05d0\u05d1")
    ('Quay Lane', '\u2068\u05d0\u05d1\u2069')
    """
    turned = any(unicodedata.bidirectional(c) in ("R", "AL", "RLE", "AN") for c in text)
    return f"\u2068{text}\u2069" if turned else text
