"""A result as a notebook shows it: HTML, and Markdown where HTML is not wanted.

Words and numbers are the report's own. Whatever comes from a mast file is text: escaped, never markup.
The HTML asks nothing of the network, runs nothing, and takes its colours from the page around it, so
that it can be read on a dark ground as well; pictures carry their own white one.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison, MastResult
from mastcheck.report.cells import letters
from mastcheck.report.content import APPROVAL
from mastcheck.report.display import System, plain
from mastcheck.report.drawings import Drawing, drawing
from mastcheck.report.results import (
    case_table,
    limit_table,
    moved_table,
    ratio_tables,
    stiffness_table,
)
from mastcheck.report.saved import svg_alone
from mastcheck.report.verdict import verdict

LONGEST = 300
"""Characters of a mast's name that are shown."""

_STYLE = """
.mastcheck{color:inherit;max-width:60em;overflow-wrap:anywhere}
.mastcheck .verdict{border-left:.3em solid #888;padding-left:.7em}
.mastcheck .good{border-color:#2b8a5e}.mastcheck .bad{border-color:#cf4b3b}
.mastcheck .open{border-color:#a57a1c}
.mastcheck .wide{overflow-x:auto}
.mastcheck table{border-collapse:collapse;margin:.7em 0;background:none;color:inherit}
.mastcheck caption{text-align:left;font-weight:bold;padding:.2em 0}
.mastcheck :is(th,td){text-align:right;padding:.2em .6em;border-bottom:1px solid #8888;background:none}
.mastcheck :is(th,td){overflow-wrap:normal}
.mastcheck td{white-space:nowrap}
.mastcheck :is(th,td).l{text-align:left;white-space:normal;overflow-wrap:break-word}
.mastcheck img{background:#fff;max-width:100%;height:auto}
.mastcheck figure{margin:.7em 0}
"""


def html(result: MastResult | Comparison, units: System = "metric") -> str:
    """A checked mast, or masts side by side, as a piece of HTML."""
    comparison = _comparison(result)
    masts = comparison.masts
    parts = [_said(letter, m) for letter, m in zip(_letters(masts), masts, strict=True)]
    if comparison.sentence and len(masts) > 1:
        parts.append(f"<p>{_text(comparison.sentence)}</p>")
    aid, cautions = _cautions(masts)
    parts.append(f"<p><strong>{_text(aid)}</strong></p>")
    if cautions:
        parts.append(f"<details open><summary>Cautions</summary>{_list(cautions)}</details>")
    parts += [_table(*t) for t in _tables(comparison, units)]
    for kind in ("sections", "deflected"):
        found = drawing(comparison, kind, units)
        if found is not None:
            parts.append(_picture(found))
    return f'<div class="mastcheck"><style>{_STYLE}</style>{"".join(parts)}</div>'


def markdown(result: MastResult | Comparison, units: System = "metric") -> str:
    """The same as Markdown, without the pictures."""
    comparison = _comparison(result)
    masts = comparison.masts
    blocks = []
    for letter, m in zip(_letters(masts), masts, strict=True):
        said = verdict(m)
        name = _plain(plain(m.job.mast.name, LONGEST))
        reasons = "\n".join(f"- {_plain(words)}" for words in said["reasons"])
        head = f"**{letter}{name}: {_plain(said['word'])}** ({_plain(said['count'])})"
        blocks.append(f"{head}\n\n{reasons}" if reasons else head)
    if comparison.sentence and len(masts) > 1:
        blocks.append(_plain(comparison.sentence))
    aid, cautions = _cautions(masts)
    blocks.append(f"**{_plain(aid)}**")
    if cautions:
        blocks.append("**Cautions**\n\n" + "\n".join(f"- {_plain(words)}" for words in cautions))
    blocks += [
        f"**{_plain(caption)}**\n\n{_grid(table)}" for caption, table in _tables(comparison, units)
    ]
    return "\n\n".join(blocks) + "\n"


def _comparison(result: MastResult | Comparison) -> Comparison:
    return result if isinstance(result, Comparison) else compare([result])


def _letters(masts: Sequence[MastResult]) -> list[str]:
    """What stands before each name: nothing before that of one mast alone."""
    return [""] if len(masts) == 1 else [f"{letter} " for letter in letters(masts)]


def _cautions(masts: Sequence[MastResult]) -> tuple[str, list[str]]:
    """That this is a calculation aid, in the engine's words or the report's; and all other cautions."""
    every = list(dict.fromkeys(c for m in masts for c in m.cautions))
    aid = next((c for c in every if c.startswith("A calculation aid, not an approval")), None)
    return aid or " ".join(APPROVAL), [c for c in every if c != aid]


def _tables(comparison: Comparison, units: System) -> list[tuple[str, dict[str, Any]]]:
    """The main numbers, each table with its caption."""
    masts = comparison.masts
    out = [("Mass and tip stiffness", stiffness_table(masts, units))]
    out += [("Side by side, with ratios to the first", t) for t in ratio_tables(comparison, units)]
    out.append(("Limits, and whatever failed", limit_table(masts, units)))
    for letter, m in zip(_letters(masts), masts, strict=True):
        of = f" of {letter.strip()}" if letter else ""
        out.append((f"Load cases{of}: movement of the tip", moved_table(m, units)))
        out.append((f"Load cases{of}: stability and strength", case_table(m, units)))
    return [(caption, table) for caption, table in out if table["rows"]]


def _text(words: str) -> str:
    return escape(words)


def _said(letter: str, m: MastResult) -> str:
    said = verdict(m)
    name = f"{letter}{plain(m.job.mast.name, LONGEST)}"
    return (
        f'<div class="verdict {said["state"]}"><p><strong>{_text(name)}: {_text(said["word"])}</strong> '
        f"({_text(said['count'])})</p>{_list(said['reasons'])}</div>"
    )


def _list(items: Iterable[str]) -> str:
    inner = "".join(f"<li>{_text(words)}</li>" for words in items)
    return f"<ul>{inner}</ul>" if inner else ""


def _table(caption: str, table: dict[str, Any]) -> str:
    """A table with a caption; the first cell of a row heads it."""
    sides = [' class="l"' if side == "l" else "" for side in table["align"]]
    head = "".join(
        f'<th scope="col"{side}>{_text(name)}</th>' if name else f"<td{side}></td>"
        for name, side in zip(table["columns"], sides, strict=True)
    )
    rows = []
    for row in table["rows"]:
        cells, at = [], 0
        for cell in row:
            words, span = (cell, 1) if isinstance(cell, str) else (cell["t"], cell.get("span", 1))
            wide = f' colspan="{span}"' if span > 1 else ""
            tag, scope = ("th", ' scope="row"') if at == 0 and words else ("td", "")
            side = ' class="l"' if span > 1 else sides[at]
            cells.append(f"<{tag}{scope}{wide}{side}>{_text(words)}</{tag}>")
            at += span
        rows.append(f"<tr>{''.join(cells)}</tr>")
    return (
        f'<div class="wide" role="region" tabindex="0" aria-label="{escape(caption)}">'
        f"<table><caption>{_text(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def _picture(drawn: Drawing) -> str:
    # As an image of its own: names inside two drawings on one page would otherwise meet.
    data = b64encode(svg_alone(drawn).encode()).decode()
    alt, caption = (words.replace("\u200b", "") for words in (drawn.alt, drawn.caption))
    return (
        f'<figure><img src="data:image/svg+xml;base64,{data}" alt="{escape(alt, quote=True)}">'
        f"<figcaption>{_text(caption)}</figcaption></figure>"
    )


_ENTITIES = {ord(c): f"&#{ord(c)};" for c in "\\`*_{}[]<>#|~$&^"} | {0x200B: None, ord("\n"): " "}


def _plain(words: str) -> str:
    """Text that Markdown shows as it stands: what could be markup is named by its number.

    >>> _plain("a|b <script> $x$ *c*")
    'a&#124;b &#60;script&#62; &#36;x&#36; &#42;c&#42;'
    """
    return words.translate(_ENTITIES)


def _grid(table: dict[str, Any]) -> str:
    """A table in the pipes of Markdown."""

    def line(cells: Iterable[str]) -> str:
        return f"| {' | '.join(cells)} |"

    marks = ["---" if side == "l" else "---:" for side in table["align"]]
    lines = [line(map(_plain, table["columns"])), line(marks)]
    for row in table["rows"]:
        cells: list[str] = []
        for cell in row:
            words, span = (cell, 1) if isinstance(cell, str) else (cell["t"], cell.get("span", 1))
            cells += [_plain(words), *[""] * (span - 1)]
        lines.append(line(cells))
    return "\n".join(lines)
