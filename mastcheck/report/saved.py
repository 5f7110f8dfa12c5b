"""The report's figures one by one: SVG, PDF and PNG of the same drawing, the same bytes every time.

PDF and PNG are set from the SVG by the page setter of the report, so that all three show the same; a
font goes along in the SVG and the PDF. The words for those who cannot see a figure go along in each.
"""

from __future__ import annotations

import json
import re
import struct
import zlib
from collections.abc import Mapping
from html import escape
from importlib.resources import files
from typing import Any, Literal

from mastcheck.report.drawings import Drawing
from mastcheck.report.embedded import font_faces
from mastcheck.report.fonts import setter_fonts
from mastcheck.report.pdf import set_or_refused
from mastcheck.report.pictures import picture

PER_INCH = 200
"""Points of a PNG in an inch."""
CAUTION = "Calculation aid, not approval."
"""Said with every figure, since it may go where the report does not."""

_TIMESTAMP = 0  # as of the report: a clock would make every run differ
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_HEAD = len(_SIGNATURE) + 25  # and the header chunk, which comes first in every PNG
_ROOT = re.compile(r"<svg [^>]*>")
_FAMILIES = re.compile(r"(<t(?:ext|span)\b[^>]*?font-family: [^;\"]*)")
_ELSE = ", Verdana, sans-serif"  # for programs that know no font in a drawing; of like width


def figure_files(drawn: Mapping[str, Any], document: str = "") -> dict[str, bytes]:
    """Files of every figure by name: ``sections.svg``, ``sections.pdf``, ``sections.png`` and so on.

    Args:
        drawn: the figures as ``pictures.pictures`` gives them.
        document: id of the report that they are of (``identity.document_id``), said with each.
    """
    if document:
        drawn = {key: {**f, "alt": f"{f['alt']} Document {document}."} for key, f in drawn.items()}
    faces = font_faces(figure["svg"] for figure in drawn.values())
    out: dict[str, bytes] = {}
    for key, figure in drawn.items():
        name = slug(key)
        title, description = _words(figure)
        out[f"{name}.svg"] = standing_svg(figure, faces)
        out[f"{name}.pdf"] = _set(figure, "pdf")
        out[f"{name}.png"] = described(_set(figure, "png"), Title=title, Description=description)
    return out


def svg_alone(drawn: Drawing) -> str:
    """One figure as SVG that stands alone."""
    plain = picture(drawn)
    return standing_svg(plain, font_faces([plain["svg"]])).decode()


def slug(key: str) -> str:
    """A file name, without its ending, from a figure's or a table's name: letters, digits, hyphens.

    >>> slug("utilisation by case"), slug("free bodies A")
    ('utilisation-by-case', 'free-bodies-a')
    """
    return re.sub(r"[^a-z0-9]+", "-", key.lower()).strip("-")


def _words(figure: Mapping[str, Any]) -> tuple[str, str]:
    """Title and description, without the places where a page may break them; a caution goes along."""
    title, alt = (str(figure[key]).replace("\u200b", "") for key in ("caption", "alt"))
    return title, f"{alt} {CAUTION}"


def standing_svg(figure: Mapping[str, Any], faces: str) -> bytes:
    """The figure to stand alone: with title, description and the letters it is set in."""
    title, description = _words(figure)
    said = (
        f'<title id="title">{escape(title)}</title>'
        f'<desc id="desc">{escape(description)}</desc>'
        f'<style type="text/css">{faces}</style>'
    )

    def opened(root: re.Match[str]) -> str:
        return f'{root.group()[:-1]} role="img" aria-labelledby="title desc">\n {said}'

    drawn = _FAMILIES.sub(rf"\1{_ELSE}", str(figure["svg"]))
    return _ROOT.sub(opened, drawn, count=1).encode()


def _set(figure: Mapping[str, Any], form: Literal["pdf", "png"]) -> bytes:
    """The figure on a page of its own size: PDF/A-2a and PDF/UA-1, or PNG."""
    import typst

    title, description = _words(figure)
    data = {"title": title, "alt": description} | {k: figure[k] for k in ("svg", "width", "height")}
    with set_or_refused():
        made = typst.compile(
            files("mastcheck.report").joinpath("figure.typ").read_bytes(),
            format=form,
            font_paths=setter_fonts(),
            sys_inputs={"data": json.dumps(data)},
            timestamp=_TIMESTAMP,
            **({"pdf_standards": ["a-2a", "ua-1"]} if form == "pdf" else {"ppi": PER_INCH}),
        )
    if not isinstance(made, bytes):  # pragma: no cover - one page is always one run of bytes
        raise TypeError("the page setter returned no picture")
    return made


def described(png: bytes, **words: str) -> bytes:
    """A PNG with words by keyword in text chunks (iTXt, UTF-8), after its header.

    Source: PNG specification, third edition (W3C), 11.3.3.4.
    """
    chunks = [
        _chunk(b"iTXt", key.encode() + b"\0\0\0en\0\0" + text.encode()) for key, text in words.items()
    ]
    return png[:_HEAD] + b"".join(chunks) + png[_HEAD:]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
