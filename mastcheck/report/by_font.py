"""Text of a drawing cut into runs, each of which one font can set.

The page setter looks for another font for a whole text, and drops letters where no single one has
them all: a name of Chinese and Polish ones, say. Such a text becomes several, one after the other, each
in the font that has its letters.
"""

from __future__ import annotations

import re
from functools import cache
from html import escape, unescape
from itertools import groupby
from pathlib import Path

from mastcheck.report.fonts import EAST_ASIAN, LATIN, covered, font_files

_TEXT = re.compile(r"<text\b([^>]*)>([^<]*)</text>")
_SIZE = re.compile(r"font-size: ([0-9.]+)px")
_ANCHOR = re.compile(r"text-anchor: (start|middle|end)")
_X = re.compile(r' x="([-0-9.]+)"')
_FAMILY = re.compile(r"font-family: [^;\"]*")
_BLANKS = re.compile(" +")
_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""How much of a text stands before its place."""


def by_font(svg: bytes) -> bytes:
    """An SVG of matplotlib's whose texts are each set in one font; one that is already, as it is.

    >>> by_font(b"<text>plain</text>")
    b'<text>plain</text>'
    """
    if svg.isascii() or len(font_files()) < 2:
        return svg
    return _TEXT.sub(_apart, svg.decode()).encode()


def _apart(found: re.Match[str]) -> str:
    look, words = found[1], _BLANKS.sub(" ", unescape(found[2]))  # as a drawing shows blanks
    runs = [(font, "".join(run)) for font, run in groupby(words, key=_font_of)]
    size, anchor, x = _SIZE.search(look), _ANCHOR.search(look), _X.search(look)
    if len(runs) < 2 or size is None:
        return found[0]
    widths = [sum(_advance(font, letter) for letter in run) * float(size[1]) for font, run in runs]
    at = float(x[1]) if x else 0.0
    at -= _BEFORE[anchor[1] if anchor else "start"] * sum(widths)
    out = ""
    for (font, run), width in zip(runs, widths, strict=True):
        families = f"'{LATIN}'" if font == font_files()[0] else f"'{EAST_ASIAN}', '{LATIN}'"
        own = _FAMILY.sub(
            f"font-family: {families}", _ANCHOR.sub("text-anchor: start", _X.sub("", look))
        )
        # Blanks at either end of a run hold its neighbours apart, and are no text of their own.
        lead = _advance(font, " ") * float(size[1]) if run.startswith(" ") else 0.0
        if run.strip(" "):
            out += f'<text{own} x="{at + lead:.3f}">{escape(run.strip(" "), quote=False)}</text>'
        at += width
    return out


def _font_of(letter: str) -> Path:
    """The first font at hand that has a letter; the first of all where none has."""
    return next((font for font in font_files() if ord(letter) in covered(font)), font_files()[0])


@cache
def _advance(font: Path, letter: str) -> float:
    """How far a letter moves on, over the size of the type."""
    from matplotlib.ft2font import FT2Font, LoadFlags

    face = FT2Font(str(font))
    face.set_size(face.units_per_EM, 72)
    glyph = face.load_char(ord(letter), flags=LoadFlags.NO_HINTING)
    return float(glyph.linearHoriAdvance) / 65536 / face.units_per_EM
