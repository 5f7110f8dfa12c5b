"""How a result shows itself where it is asked to, in a notebook say: a place for those who write it.

Results stand below whatever writes them, and know none of it. The package names its writers here once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

Form = Literal["html", "markdown"]
_writers: dict[Form, Callable[[Any], str]] = {}


def write_with(form: Form, writer: Callable[[Any], str]) -> None:
    """Name what writes a MastResult or a Comparison in a form; the last one named counts."""
    _writers[form] = writer


def shown(result: object, form: Form) -> str | None:
    """The result in a form; None where nobody writes it, and then a notebook shows plain text."""
    writer = _writers.get(form)
    return None if writer is None else writer(result)
