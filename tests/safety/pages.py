"""What a reader's program finds in a PDF or an SVG that it could run, open or fetch."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import pypdf
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NameObject

_ACTIVE = {
    "/JavaScript", "/JS", "/Launch", "/URI", "/SubmitForm", "/ImportData", "/GoToR", "/GoToE",
    "/EmbeddedFile", "/EmbeddedFiles", "/Filespec", "/RichMedia", "/Movie", "/Sound", "/AA", "/XFA",
    "/AcroForm", "/Rendition", "/Hide",
}  # fmt: skip
_HARMLESS_TAGS = {
    "svg", "g", "defs", "path", "text", "tspan", "use", "clipPath", "rect", "style", "title", "desc",
    "metadata", "image", "linearGradient", "stop", "pattern", "marker", "line", "circle", "polygon",
    "polyline", "ellipse", "mask", "symbol",
}  # fmt: skip
_RDF = ("{http://www.w3.org/1999/02/22-rdf-syntax-ns#}", "{http://creativecommons.org/ns#}",
        "{http://purl.org/dc/elements/1.1/}")  # fmt: skip


_FOOT = re.compile(r"Calculation aid, not approval\. Document \w+ page \d+ of \d+\s*\Z")


def active(data: bytes) -> set[str]:
    """Names in the objects of a PDF that make it act: scripts, links out, files within, forms."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    return set(_names(reader.trailer, set())) & _ACTIVE


def _names(value: object, seen: set[int]) -> Iterator[str]:
    """All names of keys and values, objects followed once."""
    if isinstance(value, IndirectObject):
        if value.idnum in seen:
            return
        seen.add(value.idnum)
        value = value.get_object()
    if isinstance(value, NameObject):
        yield str(value)
    elif isinstance(value, DictionaryObject):
        for key, item in value.items():
            yield str(key)
            yield from _names(item, seen)
    elif isinstance(value, ArrayObject):
        for item in value:
            yield from _names(item, seen)


def words(data: bytes) -> str:
    """The text of a PDF without blanks, places to break, and the foot of each page.

    A foot may stand inside words that go on overleaf.
    """
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return squeezed("".join(_FOOT.sub("", page.extract_text()) for page in pages))


def squeezed(text: str) -> str:
    """Text without blanks, places to break and the hyphens of broken words."""
    return "".join(text.replace("\u200b", "").replace("\u00ad", "").split())


def faults(svg: bytes) -> list[str]:
    """What in an SVG could run or fetch anything; parsing it is half of the test."""
    found = []
    for element in ElementTree.fromstring(svg).iter():
        tag = str(element.tag)
        name = tag.rpartition("}")[2]
        if not tag.startswith(_RDF) and name not in _HARMLESS_TAGS:
            found.append(tag)
        for key, value in element.attrib.items():
            attribute = key.rpartition("}")[2].lower()
            if attribute.startswith("on"):
                found.append(f"{name} {key}")
            if attribute in ("href", "src") and not value.startswith(("#", "data:image/png;base64,")):
                found.append(f"{name} {key}={value[:40]}")
            if "url(" in value.replace(" ", "").lower() and "url(#" not in value.replace(" ", ""):
                found.append(f"{name} {key}={value[:40]}")
        style = (element.text or "").replace("url(data:font/", "") if name == "style" else ""
        if "@import" in style or "url(" in style or "expression(" in style:
            found.append("style that fetches")
    return found


def svg_text(svg: bytes) -> str:
    """All text of an SVG."""
    return "".join(ElementTree.fromstring(svg).itertext())
