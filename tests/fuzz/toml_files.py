"""Mast files with keys, values and nesting changed, most of them still TOML."""

from __future__ import annotations

import copy
import math
import tomllib
from random import Random
from typing import Any

from tests.fuzz import values

Node = dict[str, Any] | list[Any]


def changed(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A mast file made of one of the seeds, seldom a good one."""
    seed = rng.choice(seeds)
    if rng.random() < 0.3:
        return values.damaged(rng, seed)
    tree = tomllib.loads(seed.decode())
    others = [tomllib.loads(rng.choice(seeds).decode())]
    for _ in range(rng.choice((1, 1, 2, 3, 8))):
        _change(rng, tree, others[0])
    content = dumped(tree).encode("utf-8", "replace")
    return values.damaged(rng, content) if rng.random() < 0.1 else content


def valued(rng: Random, seeds: tuple[bytes, ...], most: int = 6) -> bytes:
    """A mast file with values near those of a seed: often a good one."""
    tree = tomllib.loads(rng.choice(seeds).decode())
    for _ in range(rng.randrange(1, most)):
        node, key = _place(rng, tree)
        if not isinstance(node[key], dict | list):  # type: ignore[call-overload, index]
            node[key] = values.near(rng, node[key])  # type: ignore[call-overload, index]
    return dumped(tree).encode("utf-8", "replace")


def _change(rng: Random, tree: dict[str, Any], other: dict[str, Any]) -> None:
    """One change at some place."""
    if not tree:
        tree["mast"] = values.value(rng)
    node, key = _place(rng, tree)
    old: Any = node[key]  # type: ignore[call-overload, index]
    kind = rng.randrange(10)
    if kind < 3:
        node[key] = values.near(rng, old)  # type: ignore[call-overload, index]
    elif kind < 5:
        node[key] = values.value(rng)  # type: ignore[call-overload, index]
    elif kind == 5:
        del node[key]  # type: ignore[arg-type]
    elif kind == 6 and isinstance(node, dict):
        node[rng.choice((str(key)[:-1], str(key).upper(), *values.WORDS))] = node.pop(str(key))
    elif kind == 7 and isinstance(node, list):
        node.extend(copy.deepcopy(node) * rng.choice((1, 2, 50, 250)))
    elif kind == 8:
        there, where = _place(rng, other)
        node[key] = copy.deepcopy(there[where])  # type: ignore[call-overload, index]
    elif isinstance(node, dict):
        there, where = _place(rng, other)
        node[where if isinstance(where, str) else "extra"] = copy.deepcopy(there[where])  # type: ignore[call-overload, index]
    else:
        rng.shuffle(node)


def _place(rng: Random, tree: dict[str, Any]) -> tuple[Node, str | int]:
    """A table or list, and a key of it."""
    node: Any = tree
    while True:
        key: Any = rng.choice(list(node)) if isinstance(node, dict) else rng.randrange(len(node))
        below = node[key]
        if not isinstance(below, dict | list) or not below or rng.random() < 0.15:
            return node, key
        node = below


def dumped(tree: dict[str, Any]) -> str:
    """The tree as TOML, tables in line below the first level."""
    out = [f"{_key(k)} = {_value(v)}\n" for k, v in tree.items() if not isinstance(v, dict)]
    for name, table in tree.items():
        if isinstance(table, dict):
            out.append(f"[{_key(name)}]\n")
            out += [f"{_key(k)} = {_value(v)}\n" for k, v in table.items()]
    return "".join(out)


def _key(name: str) -> str:
    return name if name.replace("_", "a").isalnum() and name.isascii() else _text(name)


def _text(text: str) -> str:
    body = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text)
    return f'"{body}"'


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, int):
        return hex(value) if value > 10**300 else str(value)
    return str(value)
