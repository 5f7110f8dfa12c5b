"""Faults of a mast file, each as one line with its place, rule and remedy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from mastcheck.errors import Problem
from mastcheck.files.locate import Place, line_of
from mastcheck.units import shown

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


LONGEST_NAME = 80
"""Characters that a name may have; a longer one is a fault of its own."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault at a key path, before it is given its file, line and value."""

    path: Place
    rule: str
    remedy: str = ""


def nearest(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A remedy naming the nearest known word, those that hold it, or the ``otherwise`` text.

    >>> nearest("6082", ["EN AW-6082-T6", "steel S235"])
    'did you mean "EN AW-6082-T6"?'
    """
    known = list(known)
    folded = {k.lower(): k for k in known}
    near = get_close_matches(word.lower(), folded, n=1, cutoff=0.5)
    if near:
        return f"did you mean {shown(folded[near[0]])}?"
    holding = [k for k in known if len(word.strip()) > 2 and word.strip().lower() in k.lower()]
    return f"did you mean {' or '.join(map(shown, holding[:3]))}?" if holding else otherwise


def listed(names: Iterable[str]) -> str:
    """Names in a row, each cut where it is longer than a name may be.

    >>> listed(["cruise", "x" * 90])[:20]
    'cruise, xxxxxxxxxxxx'
    """
    return ", ".join(n if len(n) <= LONGEST_NAME else f"{n[: LONGEST_NAME - 3]}..." for n in names)


def key_text(path: Place) -> str:
    """A key path as written in messages: ``mast.station[1].chord``."""
    out = ""
    for part in path:
        if isinstance(part, int):
            out += f"[{part}]"
        else:
            plain = part.replace("_", "a").replace("-", "a").isalnum() and part.isascii()
            plain = plain and len(part) <= LONGEST_NAME
            out += ("." if out else "") + (part if plain else shown(part))
    return out or "the file"


def value_at(data: object, path: Place) -> object:
    """The raw value at a path, None where there is none."""
    for part in path:
        in_list = isinstance(data, list) and isinstance(part, int) and part < len(data)
        in_table = isinstance(data, Mapping) and part in data
        if not (in_list or in_table):
            return None
        data = data[part]  # type: ignore[index] # the checks above hold, but mypy cannot join them
    return data


def problem(fault: Fault, raw: Mapping[str, Any], file: str, lines: Mapping[Place, int]) -> Problem:
    """The fault with its place in the file and the value found there."""
    value = value_at(raw, fault.path)
    found = "" if value is None or isinstance(value, dict | list) else _found(value)
    return Problem(
        key=key_text(fault.path),
        found=found,
        rule=fault.rule,
        remedy=fault.remedy,
        file=file,
        line=line_of(fault.path, lines),
    )


def _found(value: object) -> str:
    """A scalar as a TOML file would write it."""
    if isinstance(value, bool):
        return str(value).lower()
    return shown(value)


def schema_faults(errors: Iterable[ErrorDetails], raw: Mapping[str, Any]) -> list[Fault]:
    """Faults from pydantic's errors, in our words."""
    return [_fault(error, raw) for error in errors]


def _fault(error: ErrorDetails, raw: Mapping[str, Any]) -> Fault:
    path = _real_path(tuple(error["loc"]), raw)
    kind = error["type"]
    if kind == "mastcheck":
        context = error["ctx"]
        return Fault(path, context["rule"], context["remedy"])
    if kind == "extra_forbidden":
        return Fault(path, "unknown key", _known_key(path))
    if kind == "missing" and isinstance(path[-1], int):
        return Fault(path[:-1], "must have three values", "give x, y and z")
    if kind == "missing":
        return Fault(path, "this key is required", _add(path))
    if kind == "model_type" and isinstance(path[-1], int):
        known = ", ".join(_keys_of(path))
        return Fault(path, "must be a table", f"write it in braces, {{ }}, with its keys: {known}")
    if kind == "model_type":
        return Fault(path, "must be a table", f"write it as [{key_text(path)}] with its keys below")
    if kind == "dict_type" and path == ("section", "layers"):
        remedy = 'write [section.layers] with lines such as HOLES = "void"'
        return Fault(path, "must be a table of layer names", remedy)
    if kind == "dict_type":
        return Fault(path, "must be a table of tables", f"write one [{path[0]}.NAME] for each")
    if kind in ("list_type", "tuple_type"):
        return Fault(path, "must be a list", "put it in [ ] or, for tables, under [[ ]]")
    if kind in ("bool_type", "bool_parsing"):
        return Fault(path, "must be true or false", "write it without quotes")
    if kind == "too_long":
        return Fault(path, "must have three values", "give x, y and z")
    return Fault(path, error["msg"])


def _add(path: Place) -> str:
    """How to supply a missing key."""
    if path == ("mast", "station"):
        return "add two or more [[mast.station]] tables, base to tip"
    if len(path) == 1:
        return f"add a [{path[0]}] table"
    return f"add {path[-1]} to {key_text(path[:-1])}"


def _real_path(loc: Place, raw: Mapping[str, Any]) -> Place:
    """The path in the file: without the place of a lone table, or value, read as a list of one."""
    path: Place = ()
    for part in loc:
        if part == "[key]":
            continue  # pydantic's mark for a fault in a table's own name
        here = value_at(raw, path)
        if isinstance(here, str | int | float):
            return path
        if isinstance(part, int) and isinstance(here, Mapping):
            continue
        path = (*path, part)
    return path


def _known_key(path: Place) -> str:
    """The nearest key of the table, or all of its keys."""
    known = _keys_of(path[:-1])
    return nearest(str(path[-1]), known, "known keys: " + ", ".join(known))


def _keys_of(path: Place) -> list[str]:
    """The keys of the table at a path."""
    from mastcheck.files.schema import TABLES

    names = tuple(part for part in path if isinstance(part, str))
    named = names[:1] in (("material",), ("lamina",))
    table = TABLES.get(names[:1] if named else names)
    return list(table.model_fields) if table is not None else []


def merged(first: list[Fault], second: list[Fault]) -> list[Fault]:
    """Both lists, without those of the second at, above or below a place of the first."""

    def touches(a: Place, b: Place) -> bool:
        short = min(len(a), len(b))
        return a[:short] == b[:short]

    return first + [b for b in second if not any(touches(a.path, b.path) for a in first)]
