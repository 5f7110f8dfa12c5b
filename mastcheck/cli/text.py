"""Text from files, made safe for a terminal."""

from __future__ import annotations

import codecs
import unicodedata

PLAIN_LETTERS = "mastcheck.plain"
"""Name of the way out for a stream whose encoding lacks a letter."""

_PLAIN = {"−": "-", "–": "-", "·": ".", "×": "x", "²": "2", "³": "3", "°": " deg", "…": "..."}

# Control, format (bidi overrides), surrogate, private use, and line and paragraph separators.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def one_line(text: str) -> str:
    r"""Text on one line, with whitespace closed up and terminal controls left out.

    >>> one_line("Quay\n Lane \x1b[31m75")
    'Quay Lane [31m75'
    """
    spaced = " ".join(text.split())
    return "".join(c for c in spaced if unicodedata.category(c) not in _UNSAFE)


def _plain_letters(error: UnicodeError) -> tuple[str, int]:
    """The nearest plain letters for what an encoding lacks; a sign or a unit is never lost."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_PLAIN.get(c, "?") for c in lacking), error.end


codecs.register_error(PLAIN_LETTERS, _plain_letters)
