"""The letters a drawing is set in, to go along with it: fonts cut down to what is used."""

from __future__ import annotations

import io
import re
from base64 import b64encode
from collections.abc import Iterable
from html import unescape
from pathlib import Path

from mastcheck.report.fonts import LATIN, covered, font_files, latin_folder

_TEXT = re.compile(r"<text\b([^>]*)>(.*?)</text>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")
_BOLD = re.compile(r"font(?:-weight)?: (?:bold|700)\b")


def font_faces(drawings: Iterable[str]) -> str:
    """CSS that holds the letters of some SVG drawings as fonts, for each weight they use.

    All go by the family that drawings name first, so that each letter comes from the font that has it.
    One set for all drawings, since cutting is what takes the time.
    """
    letters: dict[tuple[str, Path], set[str]] = {}
    for drawing in drawings:
        for look, words in _TEXT.findall(drawing):
            weight = "bold" if _BOLD.search(look) else "normal"
            for letter in set(unescape(_TAG.sub("", words))):
                if (font := _font_of(letter, weight)) is not None:
                    letters.setdefault((weight, font), set()).add(letter)
    return "".join(_face(weight, font, letters[weight, font]) for weight, font in sorted(letters))


def _font_of(letter: str, weight: str) -> Path | None:
    """The font at hand that has a letter."""
    found = next((font for font in font_files() if ord(letter) in covered(font)), None)
    bold = latin_folder() / "DejaVuSans-Bold.ttf"
    return bold if weight == "bold" and found == font_files()[0] else found


def _face(weight: str, font: Path, letters: set[str]) -> str:
    codes = ",".join(f"U+{ord(letter):X}" for letter in sorted(letters))
    kind = font.suffix[1:].lower()
    return (
        f"@font-face{{font-family:'{LATIN}';font-weight:{weight};unicode-range:{codes};"
        f"src:url(data:font/{kind};base64,{b64encode(cut(font, letters)).decode()})}}"
    )


def cut(font: Path, letters: set[str]) -> bytes:
    """A font with these letters alone; the same letters give the same bytes."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont

    options = Options()
    options.hinting = False
    options.layout_features = ["kern"]
    options.notdef_outline = True
    options.drop_tables += ["FFTM"]
    with TTFont(font, recalcTimestamp=False, lazy=True) as whole:
        cutter = Subsetter(options)
        cutter.populate(text="".join(sorted(letters)))
        cutter.subset(whole)
        out = io.BytesIO()
        whole.save(out)
    return out.getvalue()
