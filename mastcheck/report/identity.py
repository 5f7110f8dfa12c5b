"""A short name for what a report was made from."""

from __future__ import annotations

import dataclasses
import hashlib
from enum import Enum
from typing import Any

import numpy as np

from mastcheck.checks.result import Comparison
from mastcheck.report.display import System

_PLACES = ("file",)
"""Fields that say where something lay, which does not count; what was in it does."""


def document_id(comparison: Comparison, units: System) -> str:
    """Short hash of the inputs: where the files lay does not count, what was in them does."""
    jobs = [canonical(m.job) for m in comparison.masts]
    return hashlib.sha256("\n".join([units, *jobs]).encode("utf-8", "backslashreplace")).hexdigest()[:10]


def canonical(value: Any) -> str:
    """A value as text, equal for equal values: every digit of every number, arrays whole.

    Fields at their default are left out, so that a new kind of input changes no old report's name.
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = [
            f"{f.name}={text}"
            for f in dataclasses.fields(value)
            if f.name not in _PLACES and (text := _field(f.name, getattr(value, f.name))) != _default(f)
        ]
        return f"{type(value).__name__}({', '.join(fields)})"
    if isinstance(value, np.ndarray):
        plain = np.ascontiguousarray(value)
        return f"array({plain.shape}, {hashlib.sha256(plain.tobytes()).hexdigest()})"
    if isinstance(value, tuple | list):
        return f"({', '.join(canonical(v) for v in value)})"
    return repr(value.value) if isinstance(value, Enum) else repr(value)


def _field(name: str, value: Any) -> str:
    """A field as text; of outline files the hashes alone."""
    return canonical([sha for _, sha in value] if name == "outline_files" else value)


def _default(field: dataclasses.Field[Any]) -> str | None:
    """A field's default as text; None where it has none."""
    if field.default is not dataclasses.MISSING:
        return _field(field.name, field.default)
    if field.default_factory is not dataclasses.MISSING:
        return _field(field.name, field.default_factory())
    return None
