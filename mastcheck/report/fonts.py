"""Fonts that pages and figures are drawn with: only those that packages bring.

A font of the machine would make a report differ from machine to machine. Latin, Greek, Cyrillic, Arabic
and Hebrew are in the font that matplotlib brings; Chinese, Japanese and Korean in a package of their
own, the extra ``east-asian``.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typst import Fonts

LATIN, EAST_ASIAN = "DejaVu Sans", "Noto Sans CJK JP"
"""Family names, in the order in which a character is looked for."""


def latin_folder() -> Path:
    """The folder of the fonts that matplotlib brings."""
    from matplotlib import get_data_path

    return Path(get_data_path()) / "fonts" / "ttf"


@cache
def east_asian_file() -> Path | None:
    """The font for Chinese, Japanese and Korean; None where its package is not installed."""
    spec = find_spec("noto_cjk_sans_jp_regular")
    for folder in spec.submodule_search_locations or () if spec is not None else ():
        path = Path(folder) / "NotoSansCJKjp-Regular.otf"
        if path.is_file():
            return path
    return None


@cache
def font_files() -> tuple[Path, ...]:
    """Font files in the order in which a character is looked for."""
    east = east_asian_file()
    return (latin_folder() / "DejaVuSans.ttf", *(() if east is None else (east,)))


@cache
def covered(font: Path) -> frozenset[int]:
    """Code points that a font has a glyph for."""
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font)).get_charmap())


@cache
def families() -> tuple[str, ...]:
    """Families for matplotlib, made known to it."""
    east = east_asian_file()
    if east is None:
        return (LATIN,)
    from matplotlib.font_manager import fontManager

    if all(f.fname != str(east) for f in fontManager.ttflist):
        fontManager.addfont(str(east))
        # There is one weight only: it stands for bold too, and nothing is said about it.
        one = fontManager.ttflist[-1]
        fontManager.ttflist.append(replace(one, weight=700))
    return (LATIN, EAST_ASIAN)


def setter_fonts() -> Fonts:
    """The fonts that the page setter may use: its own, matplotlib's and the East Asian one."""
    import typst

    east = east_asian_file()
    folders = [latin_folder(), *(() if east is None else (east.parent,))]
    return typst.Fonts(include_system_fonts=False, font_paths=[str(f) for f in folders])
