"""Cells of a CSV file that a spreadsheet shows as they are: numbers whole, text never a formula.

RFC 4180, UTF-8. A spreadsheet computes a cell that begins with one of ``FORMULA``, and text of a mast
file may begin with anything: such a cell gets an apostrophe in front. Numbers are written so that
reading them gives the same bits, and are left alone: a negative one is no formula.
"""

from __future__ import annotations

import csv
import io
import math
import re
import unicodedata
from collections.abc import Iterable

Cell = str | float | int | bool | None

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""How a text begins that spreadsheets take for a formula, the full-width forms among them."""


_CUT = re.compile(f'([,;\t][\\s"]*)(?=[{re.escape("".join(FORMULA))}])')
"""Where a new cell may begin with what is taken for a formula."""


def cell(value: Cell) -> str:
    """A value as it stands in a CSV file; what is not known is left empty.

    >>> cell(0.1), cell(-2.0), cell(None), cell(True), cell(math.inf), cell("=1+1")
    ('0.1', '-2.0', '', 'true', 'inf', "'=1+1")
    """
    match value:
        case float():
            # As a plain float, since one of numpy's would name its type.
            return "" if math.isnan(value) else repr(float(value) + 0.0)
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case str():
            return text(value)


def text(words: str) -> str:
    r"""Text from outside: no formula, and no character that steers a terminal or turns the line about.

    Such characters are named by their code point; line breaks and tabs stay.

    >>> text("@SUM(A1)"), text("a\x1b[31mb"), text("-"), text("plain")
    ("'@SUM(A1)", 'a[U+001B][31mb', "'-", 'plain')
    """
    shown = "".join(
        c
        if c in "\n\r\t" or unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co")
        else f"[U+{ord(c):04X}]"
        for c in words
    )
    return f"'{shown}" if shown.startswith(FORMULA) else shown


def remark(words: str) -> str:
    """Text inside a line of remarks, which a spreadsheet cuts into cells as it does any other line.

    >>> print(remark("wide, stiff"), remark("x,=1+1; @a"))
    wide, stiff x,'=1+1; '@a
    """
    return _CUT.sub(r"\1'", text(words))


def csv_bytes(columns: Iterable[str], rows: Iterable[Iterable[Cell]]) -> bytes:
    """A whole CSV file."""
    out = io.StringIO(newline="")
    # Line ends of RFC 4180; a lone carriage return in a text is quoted by the writer as well.
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([cell(name) for name in columns])
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue().encode()
