"""DXF files: their bytes, and the document in them, or why there is none."""

from __future__ import annotations

import io
import logging
import re
from pathlib import Path
from typing import Any

from mastcheck.errors import InputError, Problem
from mastcheck.files.limits import DRAWING_BYTES, MOST_DRAWN, MOST_TOLD
from mastcheck.files.loops import Flaw

FLAWS_SHOWN = 40
"""Faults of one drawing that are told."""


def content_of(path: Path, label: str) -> bytes:
    """The file's bytes, once they look like a text DXF that ends where it should."""
    try:
        if path.exists() and not path.is_file():
            raise refused([Flaw(label, "is not a file", "name a DXF file")])
        size = path.stat().st_size
        if size > DRAWING_BYTES:
            rule = f"is larger than {DRAWING_BYTES // 10**6} MB, which no section's drawing needs"
            raise refused([Flaw(label, rule, "keep only the outline in the file")])
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        remedy = "check the path; it is relative to the mast file"
        raise refused([Flaw(label, f"cannot be read ({reason})", remedy)]) from None
    if rule := _not_dxf(content):
        raise refused([Flaw(label, rule, "save the drawing as a text (ASCII) DXF file")])
    return content


def _not_dxf(content: bytes) -> str:
    """Why the bytes cannot be a whole text DXF file, or nothing."""
    if content.startswith(b"AutoCAD Binary DXF"):
        return "is a binary DXF file"
    if re.match(rb"AC10\d\d", content):
        return "is a DWG file, not a DXF file"
    if b"\0" in content:
        return "is binary, not a DXF file"
    if not re.search(rb"(?m)^[ \t]*0[ \t]*\r?\n[ \t]*SECTION[ \t]*\r?$", content):
        return "is not a DXF file: it has no SECTION"
    if not content.rstrip().endswith(b"EOF"):
        return "is cut short: a DXF file ends with EOF"
    return ""


def document_of(content: bytes, label: str) -> Any:
    """The ezdxf document, repaired where that loses nothing that is drawn."""
    from ezdxf import recover
    from ezdxf.audit import AuditError

    drawn, told = _count_drawn(content)
    for count, most in ((drawn, MOST_DRAWN), (told, MOST_TOLD)):
        if count > most:  # the library would take minutes to say so
            rule = f"has {count:,} entities, and at most {most:,} are read"
            raise refused([Flaw(label, rule, "keep only the section's outline in the file")])
    log = logging.getLogger("ezdxf")
    quiet = logging.NullHandler()
    log.addHandler(quiet)  # or the library's remarks would reach the terminal
    try:
        doc, auditor = recover.read(io.BytesIO(content))
    except Exception as error:  # a damaged file makes the library raise almost anything
        rule = f"is damaged: {_one_line(str(error))}"
        raise refused([Flaw(label, rule, "save it again from the drawing program")]) from None
    finally:
        log.removeHandler(quiet)
    harmful = {getattr(AuditError, name) for name in _LOSSES}
    found = [*auditor.errors, *(fix for fix in auditor.fixes if fix.code in harmful)]
    if found:
        remedy = "run the drawing program's audit, or draw it again, and save it"
        raise refused([Flaw(label, f"is damaged: {_one_line(e.message)}", remedy) for e in found])
    loaded = sum(len(layout) for layout in doc.layouts)
    if loaded < drawn:
        rule = f"is damaged: only {loaded} of its {drawn} entities can be read"
        raise refused([Flaw(label, rule, "save it again from the drawing program")])
    return doc


_LOSSES = (
    "REMOVED_INVALID_GRAPHIC_ENTITY",
    "REMOVED_ENTITY_WITH_INVALID_OWNER_HANDLE",
    "UNDEFINED_BLOCK",
    "UNDEFINED_BLOCK_NAME",
    "INVALID_BLOCK_REFERENCE_CYCLE",
    "INVALID_INTEGER_VALUE",
    "INVALID_FLOATING_POINT_VALUE",
    "INVALID_EXTRUSION_VECTOR",
    "INVALID_MAJOR_AXIS",
    "INVALID_VERTEX_COUNT",
    "INVALID_SPLINE_DEFINITION",
    "INVALID_SPLINE_CONTROL_POINT_COUNT",
    "INVALID_SPLINE_FIT_POINT_COUNT",
    "INVALID_SPLINE_KNOT_VALUE_COUNT",
    "INVALID_SPLINE_WEIGHT_COUNT",
    "INVALID_ELLIPSE_RATIO",
    "MISSING_ENDSEC_TAG",
    "MISSING_SECTION_TAG",
    "FOUND_TAG_OUTSIDE_SECTION",
)
"""Repairs of the drawing library that lose or change what is drawn."""


def _count_drawn(content: bytes) -> tuple[int, int]:
    """Entities in the text's ENTITIES section, without parts of polylines and inserts; and all."""
    lines = [line.strip() for line in content.splitlines()]
    tags = list(zip(lines[::2], lines[1::2], strict=False))
    inside, count, every = False, 0, 0
    for before, (code, value) in zip([(b"", b""), *tags], tags, strict=False):
        every += code == b"0"
        if before == (b"0", b"SECTION") and code == b"2":
            inside = value == b"ENTITIES"
        elif inside and code == b"0" and value not in {b"ENDSEC", b"VERTEX", b"SEQEND", b"ATTRIB"}:
            count += 1
        elif code == b"0" and value == b"ENDSEC":
            inside = False
    return count, every


def _one_line(text: str) -> str:
    """A library's message without line breaks or paths."""
    return " ".join(text.split())[:200] or "it cannot be read"


def refused(flaws: list[Flaw], label: str = "") -> InputError:
    """An error of all faults, the first ones told in full."""
    problems = [
        Problem(key=flaw.where, found="", rule=flaw.rule, remedy=flaw.remedy, file=label)
        for flaw in flaws[:FLAWS_SHOWN]
    ]
    if (more := len(flaws) - FLAWS_SHOWN) > 0:
        rule = f"has {more} more faults"
        remedy = "mend these first"
        problems.append(Problem(key="the drawing", found="", rule=rule, remedy=remedy, file=label))
    return InputError(tuple(problems))
