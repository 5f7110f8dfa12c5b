"""Coordinate lists, readings and sweep journals with rows, cells and lines changed."""

from __future__ import annotations

import contextlib
import hashlib
import json
import zlib
from random import Random
from typing import Any

from tests.fuzz import values


def changed(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A table made of one of the seeds."""
    seed = rng.choice(seeds)
    if rng.random() < 0.25:
        return values.damaged(rng, seed)
    rows = [line.split(",") for line in seed.decode().splitlines()]
    for _ in range(rng.choice((1, 1, 2, 5, 20))):
        _change(rng, rows)
    mark = rng.choice((",", ",", ",", ";", "\t", " ", ", "))
    text = rng.choice(("\n", "\n", "\r\n")).join(mark.join(row) for row in rows)
    content = text.encode("utf-8", "replace")
    return values.damaged(rng, content) if rng.random() < 0.1 else content


def _change(rng: Random, rows: list[list[str]]) -> None:
    if not rows:
        return
    k = rng.randrange(len(rows))
    row = rows[k]
    match rng.randrange(8):
        case 0 | 1 if row:
            j = rng.randrange(len(row))
            row[j] = _near(rng, row[j])
        case 2 if row:
            row[rng.randrange(len(row))] = rng.choice(
                (*values.NUMBERS, *values.WORDS, values.quantity(rng))
            )
        case 3:
            del rows[k : k + rng.choice((1, 5, 50))]
        case 4:
            rows[k:k] = [list(r) for r in rows[k : k + rng.choice((1, 5, 50))]] * rng.choice((1, 3, 40))
        case 5:
            row.insert(rng.randrange(len(row) + 1), rng.choice((*values.NUMBERS, "")))
        case 6 if row:
            row.pop(rng.randrange(len(row)))
        case _:
            j = rng.randrange(len(rows))
            rows[k], rows[j] = rows[j], rows[k]


def _near(rng: Random, old: str) -> str:
    try:
        size = float(old)
    except ValueError:
        return rng.choice(
            (old.upper(), old[:-1], old + " [mm]", old.replace("mm", rng.choice(values.UNITS)))
        )
    return f"{size * rng.choice((1.001, -1, 0, 10, 0.1, 1 + rng.gauss(0, 0.01))):.8g}"


def journal(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A sweep's journal with its content changed: half of them under a checksum that fits."""
    seed = rng.choice(seeds)
    if rng.random() < 0.4:
        return values.damaged(rng, seed)
    lines = [json.loads(line.partition(b" ")[2]) for line in seed.splitlines()]
    for _ in range(rng.choice((1, 2, 4))):
        k = rng.randrange(len(lines))
        match rng.randrange(5):
            case 0:
                lines[k] = rng.choice(
                    (
                        None,
                        3,
                        "x",
                        [],
                        [1],
                        [1, 2],
                        {"a": 1},
                        [0, [[]]],
                        [-5, [[1]]],
                        ["a", []],
                        [0, {}],
                        [10**30, [[0.0]]],
                    )
                )
            case 1:
                lines.insert(k, lines[rng.randrange(len(lines))])
            case 2:
                lines.pop(k)
                lines = lines or [[]]
            case 3 if isinstance(lines[k], list) and lines[k]:
                lines[k][rng.randrange(len(lines[k]))] = _any(rng)
            case _:
                if (
                    isinstance(lines[k], list)
                    and len(lines[k]) > 1
                    and isinstance(lines[k][1], list)
                    and lines[k][1]
                ):
                    lines[k][1][rng.randrange(len(lines[k][1]))] = _any(rng)
    return b"".join(_line(line) for line in lines)


def record(rng: Random, seeds: tuple[bytes, ...]) -> bytes:
    """A result file with values and keys changed somewhere below."""
    seed = rng.choice(seeds)
    if rng.random() < 0.3:
        at = rng.randrange(max(1, len(seed) - 300_000))  # damage is cut to size, so that only a part is
        return seed[:at] + values.damaged(rng, seed[at : at + 2000]) + seed[at + 2000 :]
    tree = json.loads(seed)
    whole, record = tree, tree["record"]
    if rng.random() < 0.7:
        tree = record  # sealed again below, so that what lies behind the seal is tried
    for _ in range(rng.choice((1, 1, 2, 5))):
        node: Any = tree
        while True:
            key: Any = rng.choice(list(node)) if isinstance(node, dict) else rng.randrange(len(node))
            if not isinstance(node[key], dict | list) or not node[key] or rng.random() < 0.1:
                break
            node = node[key]
        if rng.random() < 0.2:
            del node[key]
            if not tree:
                break
        else:
            node[key] = rng.choice((_any(rng), values.near(rng, node[key])))
    if tree is record:
        record.pop("sha256", None)
        with contextlib.suppress(ValueError, OverflowError):
            record["sha256"] = hashlib.sha256(_sealed(record)).hexdigest()
    return json.dumps(whole).encode()


def _sealed(record: object) -> bytes:
    return json.dumps(record, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def _any(rng: Random) -> Any:
    return rng.choice(
        (None, 0, -1, 1.5, 10**40, "text", [], [[]], {}, [1] * 40, True, [None] * 100, 5, 3)
    )


def _line(content: object) -> bytes:
    text = json.dumps(content, separators=(",", ":")).encode()
    return b"%08x %s\n" % (zlib.crc32(text), text)
