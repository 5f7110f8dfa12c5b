"""Text from files, made safe for a terminal."""

from __future__ import annotations

import unicodedata

# Control, format (bidi overrides), surrogate, private use, and line and paragraph separators.
_UNSAFE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def one_line(text: str) -> str:
    r"""Text on one line, with whitespace closed up and terminal controls left out.

    >>> one_line("Quay\n Lane \x1b[31m75")
    'Quay Lane [31m75'
    """
    spaced = " ".join(text.split())
    return "".join(c for c in spaced if unicodedata.category(c) not in _UNSAFE)
