"""Figures whose bytes do not hang on the machine: rounding noise taken out of an SVG.

Processors differ in the last digits of a sum, since their linear algebra adds in another order. In a
drawing that is a billionth of a point, yet it changes bytes, and the names that clip paths get from
them. Coordinates are rounded to what can be seen, and names are given anew in the order they come.
"""

from __future__ import annotations

import re

PLACES = 3
"""Decimals of a point (1/72 in) that are kept: a third of a micrometre."""

_LONG = re.compile(rb"-?\d+\.\d{%d,}" % (PLACES + 1))
_DRAWN = re.compile(rb' (?:d|x|y|x1|y1|x2|y2|width|height|transform|points|cx|cy|r|style)="[^"]*"')
_NAMED = re.compile(rb'\bid="([a-z][0-9a-f]{10})"')
_USED = re.compile(rb"#([a-z][0-9a-f]{10})\b")


def settle(svg: bytes) -> bytes:
    """An SVG of matplotlib's with coordinates rounded and names that do not depend on noise.

    Only attributes that draw are touched; text stays as it is.

    >>> settle(b'<path id="p0123456789" d="M 1.23456789 -0.0000004"/><use href="#p0123456789"/>')
    b'<path id="p1" d="M 1.235 0"/><use href="#p1"/>'
    """
    rounded = _DRAWN.sub(lambda m: _LONG.sub(_round, m.group()), svg)
    names = {old: b"%c%d" % (old[0], i) for i, old in enumerate(_first(rounded), start=1)}
    renamed = _NAMED.sub(lambda m: b'id="%s"' % names[m.group(1)], rounded)
    return _USED.sub(lambda m: b"#" + names.get(m.group(1), m.group(1)), renamed)


def _first(svg: bytes) -> list[bytes]:
    """Names in the order in which they are given, each once."""
    return list(dict.fromkeys(_NAMED.findall(svg)))


def _round(found: re.Match[bytes]) -> bytes:
    text = f"{float(found.group()):.{PLACES}f}".rstrip("0").rstrip(".")
    return b"0" if text in ("-0", "0", "") else text.encode()
