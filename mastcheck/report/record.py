"""The record: a whole comparison in a result file, so that an old check can be drawn again exactly.

Report, figures, tables and page are made from it alone. What ``decode`` returns equals what was
encoded, number by number, save the unit stress fields, which are kept in single precision: they are
drawn and multiplied by loads, never judged again. Two hashes tell a change from what was written: one
of the record, one of the numbers beside it that scripts read.

A record is data from a stranger: nothing in it is run or imported, what it unpacks to is limited, and
whatever is wrong with it ends in an InputError.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NoReturn

from mastcheck.checks import edge_result
from mastcheck.checks.result import Comparison
from mastcheck.errors import InputError, Problem
from mastcheck.report.codec import Codec
from mastcheck.report.codec_arrays import Budget, MismatchError
from mastcheck.report.record_check import check_whole
from mastcheck.section.model import StressBasis
from mastcheck.version import __version__

VERSION = "mastcheck-record/1"

FIRST_WRITER = "0.5.0"
"""The first version of mastcheck that writes records."""

MOST_FILE = 128 * 2**20
"""Bytes of a result file that is read: 50 masts of many plies."""

MOST_UNPACKED = 512 * 2**20
"""Bytes that the arrays of a record may unpack to: twice those of 200 stations with thin walls."""

MOST_PARTS = 4_000_000
"""Commas and brackets in a result file: what its reading may cost before anything is known of it."""

AGAIN = "take the file as it was written, or check the mast file again"


_WRITER = re.compile(r"mastcheck [0-9A-Za-z.+-]{1,40}")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Recorded:
    """A comparison from a result file, and the program that computed it ("mastcheck 0.5.0")."""

    comparison: Comparison
    written_by: str


@lru_cache(maxsize=1)
def codec() -> Codec:
    """The codec of comparisons."""
    return Codec(
        Comparison,
        narrow=frozenset({(StressBasis, "fields")}),
        names={edge_result.Change: "EdgeChange"},
    )


def encode(comparison: Comparison, beside: dict[str, Any] | None = None) -> dict[str, Any]:
    """The whole comparison as plain data that strict JSON can hold.

    Args:
        comparison: what was found.
        beside: the rest of the result file, for its hash; None where the record stands alone.
    """
    record = {
        "version": VERSION,
        "written_by": f"mastcheck {__version__}",
        "beside_sha256": None if beside is None else _sha256(beside),
        **codec().write(comparison),
    }
    return {**record, "sha256": _sha256(record)}


def decode(record: Any) -> Comparison:
    """The comparison of a record.

    Raises: InputError where the record is of another version, was changed since it was written, is
        damaged, or does not hang together.
    """
    try:
        return _decoded(record)
    except MismatchError as error:
        _refuse(error.at or "record", error.found, error.rule, AGAIN)
    except (RecursionError, MemoryError):
        _refuse("record", "", "is too large or too deeply nested to be a record", AGAIN)


def _decoded(record: Any) -> Comparison:
    if not isinstance(record, dict):
        raise MismatchError("record", "", "is no record")
    version = record.get("version")
    if version != VERSION:
        rule = (
            f"is a kind of record that this mastcheck ({__version__}) does not read; it reads {VERSION}"
        )
        _refuse(
            "record.version", str(version)[:60], rule, "use the mastcheck that wrote it, or a newer one"
        )
    kept = {k: v for k, v in record.items() if k != "sha256"}
    if record.get("sha256") != _sha256(kept):
        _refuse("record", "", "was changed after it was written (its sha256 does not fit)", AGAIN)
    writer = record.get("written_by")
    if not isinstance(writer, str) or not _WRITER.fullmatch(writer):
        raise MismatchError("record.written_by", "", "must be mastcheck and its version")
    known = {"version", "written_by", "beside_sha256"}
    found = codec().read({k: v for k, v in kept.items() if k not in known}, Budget(MOST_UNPACKED))
    check_whole(found)
    comparison: Comparison = found
    return comparison


def read_result(data: bytes, file: str = "") -> Recorded:
    """What a result file records.

    Args:
        data: the file's bytes.
        file: its name, for messages.

    Raises: InputError where it is no result file, has no record, or ``decode`` refuses it.
    """
    try:
        whole = _parsed(data)
        record = whole.pop("record", None)
        if record is None:
            rule = "is missing, so there is nothing to draw this result from"
            remedy = f"check the mast file again; mastcheck {FIRST_WRITER} and later write records"
            _refuse("record", "", rule, remedy)
        comparison = decode(record)
        if record.get("beside_sha256") != _sha256(whole):
            rule = "were changed after they were written; the record beside them is whole"
            _refuse("the file's own numbers", "", rule, AGAIN)
        return Recorded(comparison=comparison, written_by=record["written_by"])
    except InputError as error:
        raise InputError(tuple(replace(p, file=file) for p in error.problems)) from error


def _parsed(data: bytes) -> dict[str, Any]:
    """A result file as plain data."""
    if len(data) > MOST_FILE or sum(map(data.count, (b",", b"[", b"{"))) > MOST_PARTS:
        _refuse("the file", "", "is larger than any result", "give a result file of check or compare")
    try:
        whole = json.loads(
            data.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_number, parse_float=_finite
        )
    except (ValueError, RecursionError) as error:
        what = str(error)[:120] if isinstance(error, ValueError) else "too deeply nested"
        # What a parser says of other files means nothing to a person; of a torn one, where it is torn.
        where = f" ({what})" if data.lstrip()[:1] == b"{" else ""
        _refuse("the file", "", f"is no JSON{where}", "give a result file of check or compare")
    schema = whole.get("schema") if isinstance(whole, dict) else None
    if not isinstance(schema, str) or not schema.startswith("mastcheck-result/"):
        rule = "must name mastcheck-result/1, as a result file of check or compare does"
        _refuse("schema", "" if schema is None else str(schema)[:60], rule, "give such a file")
    parsed: dict[str, Any] = whole
    return parsed


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice in one object")
    return found


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text[:30]} is beyond any number")
    return number


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number in JSON")


def _sha256(value: Any) -> str:
    """Hash of plain data, whatever its layout and the order of its keys in the file."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _refuse(key: str, found: str, rule: str, remedy: str) -> NoReturn:
    raise InputError((Problem(key=key, found=found, rule=rule, remedy=remedy),))
