"""What a result depends on, as one short text: a hash over content, not over names or times."""

from __future__ import annotations

import platform
import struct
from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from hashlib import blake2b
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

_CODE = ("outline.py", "drawn.py", "mast.py", "material.py", "laminate.py", "roots.py", "section/*.py")
"""Modules that a solved section depends on."""

_LIBRARIES = ("numpy", "scipy", "shapely", "cytriangle")


def digest(*parts: object) -> str:
    """64 hexadecimal digits over the content of numbers, text, arrays, tuples and dataclasses.

    Floats count to the last bit, arrays by their type, shape and bytes, dataclasses by the name of
    their class and all fields.

    Raises: TypeError for anything else, rather than take two different things for one.

    >>> digest(1.0, "a") == digest(1.0, "a"), digest(0.1 + 0.2) == digest(0.3)
    (True, False)
    """
    return blake2b(_content(parts, {}), digest_size=32).hexdigest()


@cache
def code_version() -> str | None:
    """Hash of the code and the libraries that solve sections; None where the code cannot be read."""
    package = Path(__file__).parent.parent
    try:
        sources = tuple(
            (path.name, path.read_bytes()) for name in _CODE for path in sorted(package.glob(name))
        )
    except OSError:
        return None
    if len(sources) < len(_CODE):
        return None  # an installation without its sources cannot tell when they changed
    return digest(sources, tuple(_version(name) for name in _LIBRARIES), platform.machine())


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return ""


def _content(value: object, known: dict[int, bytes]) -> bytes:
    """Bytes that no other value has; ``known``: hashes of dataclasses met before (a ply's lamina)."""
    kind = type(value)
    if kind is float:  # nearly all there is
        return b"f" + struct.pack(">d", value + 0.0)  # type: ignore[operator]  # -0.0 is 0.0
    if isinstance(value, (tuple, list)):
        return _marked(b"(", b"".join([_content(part, known) for part in value]))
    names = _names(kind)  # type: ignore[arg-type]  # a class is hashable
    if names is None:
        return _plain(value)
    found = known.get(id(value))
    if found is None:
        parts = [_content(getattr(value, name), known) for name in names]
        whole = kind.__name__.encode() + b"(" + b"".join(parts)
        found = known[id(value)] = b"D" + blake2b(whole, digest_size=32).digest()
    return found


def _plain(value: object) -> bytes:
    """Bytes of a value that holds no others; each kind with a mark and a length of its own."""
    if value is None:
        return b"N"
    if isinstance(value, Enum):
        return _member(type(value), value.name)
    if isinstance(value, str):
        return _marked(b"s", value.encode())
    if isinstance(value, bytes):
        return _marked(b"b", value)
    if isinstance(value, bool):
        return b"T" if value else b"F"
    if isinstance(value, (float, np.floating)):
        return b"f" + struct.pack(">d", float(value) + 0.0)
    if isinstance(value, (int, np.integer)):
        return _marked(b"i", str(int(value)).encode())
    if isinstance(value, np.ndarray) and value.dtype.kind in "fiub":
        return _marked(b"a", f"{value.dtype.str}{value.shape}".encode() + value.tobytes())
    raise TypeError(f"{type(value).__name__} has no stated content")


@cache
def _member(kind: type, name: str) -> bytes:
    return _marked(b"E", f"{kind.__name__}.{name}".encode())


def _marked(mark: bytes, content: bytes) -> bytes:
    return mark + len(content).to_bytes(8, "big") + content


@cache
def _names(kind: type) -> tuple[str, ...] | None:
    """Fields of a dataclass; None of any other class."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else None
