"""Where a mast file takes free text, found from its published schema; and files that fill each place."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

from mastcheck.files.publish import mast_file_schema

Path = tuple[str, ...]
"""A key path: keys, "[]" for the entries of a list, "*" for the tables under names of the user's own."""

ANY_NAME = "*"
ENTRY = "[]"

CODES = {("section", "ply", "[]", "layup")}
"""Places that the schema leaves free and that take a code with a grammar of its own."""


@cache
def texts() -> dict[Path, bool]:
    """Every place of the schema that takes text, and whether the schema takes any text there.

    A path that ends in ``*`` is the name itself, such as a material's.
    """
    schema = mast_file_schema()
    found: dict[Path, bool] = {}
    for path, node in _texts(schema, schema["$defs"], ()):
        found[path] = found.get(path, False) or not {"enum", "const", "pattern"} & set(node)
    return found


def free() -> list[Path]:
    """The places that take any text."""
    return [path for path, is_free in texts().items() if is_free and path not in CODES]


def _texts(node: Any, types: dict[str, Any], path: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    if "$ref" in node:
        yield from _texts(types[node["$ref"].rsplit("/", 1)[1]], types, path)
    for choice in ("anyOf", "oneOf", "allOf"):
        for option in node.get(choice, ()):
            yield from _texts(option, types, path)
    if node.get("type") == "string":
        yield path, node
    for item in (*node.get("prefixItems", ()), node.get("items")):
        if isinstance(item, dict):
            yield from _texts(item, types, (*path, ENTRY))
    for key, value in node.get("properties", {}).items():
        yield from _texts(value, types, (*path, key))
    named = node.get("additionalProperties")
    if isinstance(named, dict):
        yield (*path, ANY_NAME), node.get("propertyNames", {})
        yield from _texts(named, types, (*path, ANY_NAME, ""))


@cache
def together() -> list[list[Path]]:
    """All places for text, in lists whose places can be filled in one file; names after the rest."""
    lists: list[list[Path]] = []
    for path in sorted(texts(), key=lambda p: (p[-1] == ANY_NAME, p)):
        fitting = [one for one in lists if not any(_clash(path, other) for other in one)]
        if fitting:
            fitting[0].append(path)
        else:
            lists.append([path])
    return lists


def _clash(a: Path, b: Path) -> bool:
    """Whether one place is inside the other, or one is in a list and the other in a table."""
    for one, other in zip(a, b, strict=False):
        if one != other:
            return ENTRY in (one, other)
    return len(a) != len(b) and min(a, b, key=len)[-1] != ANY_NAME


def put(whole: dict[str, Any], path: Path, text: str) -> None:
    """Put the text at the first such place of a mast file's tables, making what is not there."""
    here: Any = whole
    for i, key in enumerate(path[:-1]):
        after = path[i + 1]
        if key == ENTRY:
            if after == ENTRY and not isinstance(here[0], list):
                here[0] = [{}]
            here = here[0]
        elif key == "":
            continue
        elif key == ANY_NAME:
            if path[i + 1 :] != ("",):
                here = here[next(iter(here))]
        else:
            made: Any = [{}] if after == ENTRY else {}
            if not isinstance(here.get(key), type(made)):
                here[key] = made
            here = here[key]
        if after == ANY_NAME and not here:
            here["a name"] = {}
    last = path[-1]
    if last == ANY_NAME:
        first = next(iter(here))
        here[text] = here.pop(first)
    elif last == "":
        here[next(iter(here))] = text
    elif last == ENTRY:
        here[0] = text
    else:
        here[last] = text


def at(whole: Any, path: Path) -> list[Any]:
    """All values at a path; of a path that ends in ``*``, the names."""
    if not path:
        return [whole]
    key, *rest = path
    if key == "":
        return at(whole, tuple(rest))
    if key == ENTRY:
        return [v for entry in whole for v in at(entry, tuple(rest))] if isinstance(whole, list) else []
    if not isinstance(whole, dict):
        return []
    if key == ANY_NAME:
        return [v for table in whole.values() for v in at(table, tuple(rest))] if rest else list(whole)
    return at(whole[key], tuple(rest)) if key in whole else []


def toml(whole: dict[str, Any]) -> str:
    """The tables as TOML: each under its header, its keys in lines of their own."""
    tables = {key: value for key, value in whole.items() if isinstance(value, dict)}
    others = {key: value for key, value in whole.items() if key not in tables}
    lines = [f"{_key(key)} = {_value(value)}" for key, value in others.items()]
    for name, table in tables.items():
        lines += [f"[{_key(name)}]", *(f"{_key(k)} = {_value(v)}" for k, v in table.items())]
    return "\n".join(lines) + "\n"


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str):
        return _text(value)
    return json.dumps(value)


def _key(key: str) -> str:
    bare = key.isascii() and key.replace("_", "").isalnum()
    return key if bare else _text(key)


def _text(text: str) -> str:
    """A TOML basic string; every character out of the ordinary escaped."""
    plain = (c if " " <= c <= "~" and c not in '"\\' else f"\\U{ord(c):08x}" for c in text)
    return '"' + "".join(plain) + '"'
