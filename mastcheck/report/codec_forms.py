"""How values of the plain types are written in a record and read again, strictly."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from mastcheck.report.codec_arrays import MismatchError
from mastcheck.report.codec_state import Reader, Writer

_NONFINITE = {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}


@dataclass(frozen=True)
class Form:
    """How values of one type are written and read.

    takes: whether a Python value is of the type. fits: whether a plain value can only be of it, to
    choose among the types of a union. ``read`` raises MismatchError.
    """

    takes: Callable[[Any], bool]
    fits: Callable[[Any], bool]
    write: Callable[[Any, Writer], Any]
    read: Callable[[Any, str, Reader], Any]
    name: str
    cls: type | None = None


def many(form: Form) -> Form:
    """A tuple of any length."""

    def read(raw: Any, at: str, reader: Reader) -> Any:
        items = as_list(raw, at)
        reader.enter(at, nodes=1 + len(items))
        values = tuple(form.read(item, f"{at}[{i}]", reader) for i, item in enumerate(items))
        reader.leave()
        return values

    return Form(
        lambda v: isinstance(v, tuple | list),
        lambda raw: isinstance(raw, list),
        lambda v, writer: [form.write(item, writer) for item in v],
        read,
        "a list",
    )


def each(forms: list[Form]) -> Form:
    """A tuple with a type for each place."""

    def read(raw: Any, at: str, reader: Reader) -> Any:
        items = as_list(raw, at)
        if len(items) != len(forms):
            raise MismatchError(at, f"{len(items)} values", f"must be {len(forms)} values")
        reader.enter(at, nodes=1 + len(items))
        values = tuple(
            f.read(item, f"{at}[{i}]", reader)
            for i, (f, item) in enumerate(zip(forms, items, strict=True))
        )
        reader.leave()
        return values

    return Form(
        lambda v: isinstance(v, tuple | list) and len(v) == len(forms),
        lambda raw: isinstance(raw, list),
        lambda v, writer: [f.write(item, writer) for f, item in zip(forms, v, strict=True)],
        read,
        f"{len(forms)} values",
    )


def pairs(pair: Form) -> Form:
    """A mapping from text, in its order."""

    def read(raw: Any, at: str, reader: Reader) -> Any:
        found = [pair.read(item, f"{at}[{i}]", reader) for i, item in enumerate(as_list(raw, at))]
        out = dict(found)
        if len(out) != len(found):
            raise MismatchError(at, "", "has a key twice")
        return out

    return Form(
        lambda v: isinstance(v, dict),
        lambda raw: isinstance(raw, list),
        lambda v, writer: [pair.write(item, writer) for item in v.items()],
        read,
        "a list of pairs",
    )


def array(dtype: np.dtype[Any], *, narrow: bool) -> Form:
    """An array of float64 or int64, by its place; ``narrow``: single precision may be written."""
    return Form(
        lambda v: isinstance(v, np.ndarray),
        lambda raw: type(raw) is int,
        lambda v, writer: writer.arrays.write(v, dtype, narrow=narrow),
        lambda raw, at, reader: reader.array(raw, dtype, at, narrow=narrow),
        "the number of an array",
    )


def chosen(values: Mapping[Any, Any], name: str) -> Form:
    """One of a closed set of words."""
    back = {v: k for k, v in values.items()}

    def read(raw: Any, at: str, reader: Reader) -> Any:
        reader.nodes += 1
        if not isinstance(raw, str) or raw not in values:
            raise MismatchError(at, shown(raw), f"must be one of {', '.join(map(str, values))}")
        return values[raw]

    return Form(
        lambda v: isinstance(v, type(next(iter(back)))) and v in back,
        lambda raw: isinstance(raw, str) and raw in values,
        lambda v, _: back[v],
        read,
        name,
    )


def _simple(
    name: str, takes: Callable[[Any], bool], fits: Callable[[Any], bool], write: Any, read: Any = None
) -> Form:
    def strict(raw: Any, at: str, reader: Reader) -> Any:
        reader.nodes += 1
        if not fits(raw):
            raise MismatchError(at, shown(raw), f"must be {name}")
        return read(raw) if read else raw

    return Form(takes, fits, lambda v, _: write(v), strict, name)


def _write_float(value: Any) -> Any:
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} stands where a record has a number")
    if isinstance(value, int) or math.isfinite(value):
        return value
    return "nan" if math.isnan(value) else "inf" if value > 0 else "-inf"


def _write_text(value: Any) -> Any:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} stands where a record has text")
    # A file's name may hold bytes that are no text, which Python keeps as lone surrogates.
    return value if _whole(value) else {"surrogates": value.encode("utf-16-be", "surrogatepass").hex()}


def _read_text(raw: Any) -> str:
    if isinstance(raw, str):
        return raw
    return bytes.fromhex(raw["surrogates"]).decode("utf-16-be", "surrogatepass")


def _is_text(raw: Any) -> bool:
    if isinstance(raw, str):
        return _whole(raw)
    if not isinstance(raw, dict) or raw.keys() != {"surrogates"}:
        return False
    try:
        return not _whole(_read_text(raw))
    except (TypeError, ValueError):
        return False


def _whole(text: str) -> bool:
    """Whether text holds no lone surrogates."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _is_int(raw: Any) -> bool:
    return type(raw) is int and abs(raw) < 2**63


def _write_int(value: Any) -> int:
    if isinstance(value, bool | np.bool_) or not isinstance(value, int | np.integer):
        raise TypeError(f"{value!r} stands where a record has a whole number")
    return int(value)


def _write_bool(value: Any) -> bool:
    if not isinstance(value, bool | np.bool_):
        raise TypeError(f"{value!r} stands where a record has true or false")
    return bool(value)


def _is_number(raw: Any) -> bool:
    return type(raw) is float or _is_int(raw) or (isinstance(raw, str) and raw in _NONFINITE)


PLAIN: dict[Any, Form] = {
    str: _simple("text", lambda v: isinstance(v, str), _is_text, _write_text, _read_text),
    bool: _simple(
        "true or false",
        lambda v: isinstance(v, bool | np.bool_),
        lambda raw: isinstance(raw, bool),
        _write_bool,
    ),
    int: _simple(
        "a whole number",
        lambda v: isinstance(v, int | np.integer) and not isinstance(v, bool),
        _is_int,
        _write_int,
    ),
    float: _simple(
        "a number",
        lambda v: isinstance(v, int | float | np.integer | np.floating) and not isinstance(v, bool),
        _is_number,
        _write_float,
        lambda raw: _NONFINITE[raw] if isinstance(raw, str) else raw,
    ),
    type(None): _simple("null", lambda v: v is None, lambda raw: raw is None, lambda v: v),
}


def shown(raw: Any) -> str:
    """A value from a file, short enough for a message."""
    text = "null" if raw is None else repr(raw) if isinstance(raw, str | int | float) else ""
    return text if len(text) <= 40 else text[:37] + "..."


def as_list(raw: Any, at: str) -> list[Any]:
    """A list from a file. Raises: MismatchError for anything else."""
    if not isinstance(raw, list):
        raise MismatchError(at, shown(raw), "must be a list")
    return raw
