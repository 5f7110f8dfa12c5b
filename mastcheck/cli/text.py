"""Text from files, made safe for a terminal."""

from __future__ import annotations

import codecs
import unicodedata
from pathlib import Path

PLAIN_LETTERS = "mastcheck.plain"
"""Name of the way out for a stream whose encoding lacks a letter."""

_PLAIN = {"−": "-", "–": "-", "·": ".", "×": "x", "²": "2", "³": "3", "°": " deg", "…": "..."}

# Control, format (bidi overrides), surrogate, private use, and line and paragraph separators.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_BREAK = "\u200b"
"""Where a page may break a long word: tables of the report carry it, and a terminal needs none."""

MOST_MARKS = 6
"""Combining marks shown on one letter: more than any script stacks, and too few to hide other lines."""


def one_line(text: str) -> str:
    r"""Text on one line: whitespace closed up, what cannot be seen named by its code point.

    Nothing in it moves the cursor, turns the direction of writing, or lies over other lines; and two
    names that differ do not look alike.

    >>> one_line("Quay\n Lane \x1b[31m75")
    'Quay Lane [U+001B][31m75'
    >>> one_line("Zoe\u0308")
    'Zoe\u0308'
    """
    return _named(" ".join(text.replace(_BREAK, "").split()))


def place(path: Path) -> str:
    r"""A path as it is to be typed again, but for what cannot be seen: its blanks are left alone.

    >>> place(Path("a  b\n.toml"))
    'a  b[U+000A].toml'
    """
    return _named(str(path))


def _named(text: str) -> str:
    out: list[str] = []
    marks = 0
    for c in text:
        kind = unicodedata.category(c)
        marks = marks + 1 if kind in ("Mn", "Me") else 0
        hidden = kind in _UNSAFE or marks > MOST_MARKS
        out.append(f"[U+{ord(c):04X}]" if hidden else c)
    return "".join(out)


def printed(text: str) -> str:
    r"""What is about to reach a terminal, line feeds kept: a last look for what was forgotten.

    >>> printed("a\x1b[2Jb\n")
    'a\ufffd[2Jb\n'
    """
    if text.isprintable():
        return text
    return "".join(
        c if c == "\n" or unicodedata.category(c) not in _UNSAFE else "\N{REPLACEMENT CHARACTER}"
        for c in text
    )


def _plain_letters(error: UnicodeError) -> tuple[str, int]:
    """The nearest plain letters for what an encoding lacks; a sign or a unit is never lost."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_PLAIN.get(c, "?") for c in lacking), error.end


codecs.register_error(PLAIN_LETTERS, _plain_letters)
