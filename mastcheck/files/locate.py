"""Lines of a TOML text by key path, since the standard parser keeps none."""

from __future__ import annotations

import re
from collections.abc import Mapping

Place = tuple[str | int, ...]
"""A key path: keys, and places in lists from 0."""

_PART = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*')"""
_DOTTED = rf"{_PART}(?:\s*\.\s*{_PART})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]")
_KEY = re.compile(rf"\s*({_DOTTED})\s*=(.*)", re.DOTALL)
_TOKEN = re.compile(r'''"""|\'\'\'|"(?:[^"\\]|\\.)*"|'[^']*'|\#.*|[\[\]{}]''')


def lines(text: str) -> dict[Place, int]:
    """Line numbers, from 1, of headers and keys in a valid TOML text.

    Keys inside inline tables and lists are not listed: ``line_of`` falls back to their parent.
    """
    found: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    depth, quote = 0, ""
    # Not splitlines(), which also breaks at characters that end no line of TOML.
    for line, content in enumerate(text.split("\n"), start=1):
        if depth == 0 and not quote:
            if header := _HEADER.match(content):
                table = _table(_split(header[2]), header[1] == "[[", counts)
                found.setdefault(table, line)
                continue
            if key := _KEY.match(content):
                names = _split(key[1])
                for end in range(1, len(names) + 1):
                    found.setdefault((*table, *names[:end]), line)
                content = key[2]
        depth, quote = _scan(content, depth, quote)
    return found


def line_of(path: Place, found: Mapping[Place, int]) -> int | None:
    """The line of a key path, or of its nearest parent that has one."""
    for end in range(len(path), 0, -1):
        if path[:end] in found:
            return found[path[:end]]
    return None


def _split(dotted: str) -> tuple[str, ...]:
    """Parts of a dotted key, without quotes."""
    return tuple(part.strip("\"'") for part in re.findall(_PART, dotted))


def _table(names: tuple[str, ...], many: bool, counts: dict[Place, int]) -> Place:
    """The path of a header, with the places of the lists of tables on its way."""
    path: Place = ()
    for place, name in enumerate(names):
        path = (*path, name)
        last = place == len(names) - 1
        if many and last:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _scan(content: str, depth: int, quote: str) -> tuple[int, str]:
    """Depth of brackets, and the open long quote if any, after a line."""
    place = 0
    while place < len(content):
        if quote:
            end = content.find(quote, place)
            if end < 0:
                return depth, quote
            place, quote = end + 3, ""
            continue
        token = _TOKEN.search(content, place)
        if token is None:
            break
        place = token.end()
        if token[0] in ('"""', "'''"):
            quote = token[0]
        elif token[0] in "[{":
            depth += 1
        elif token[0] in "]}":
            depth -= 1
    return max(depth, 0), quote
