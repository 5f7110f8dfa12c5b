"""Other words put in place of a result's own: a mast solved once stands for any text in its file."""

from __future__ import annotations

import copy
import dataclasses
import re
from collections.abc import Callable, Mapping
from enum import Enum
from typing import Any, TypeVar

T = TypeVar("T")
_WORD = re.compile(r"Zq\d\dq")


def words(value: object) -> set[str]:
    """The stand-in words in a text, or in all texts of a tree of dataclasses."""
    found: set[str] = set()
    each_text(value, lambda text: found.update(_WORD.findall(text)))
    return found


def each_text(value: object, tell: Callable[[str], object]) -> None:
    """Every text of a tree of dataclasses, told once."""

    def kept(text: str) -> str:
        tell(text)
        return text

    _changed(value, kept, {})


def written(value: T, texts: Mapping[str, str]) -> T:
    """A copy of a tree of dataclasses, tuples, lists and tables with each stand-in word replaced.

    What was one object is one object again, since materials are told apart by identity.
    """
    return _changed(value, lambda text: _WORD.sub(lambda m: texts.get(m[0], m[0]), text), {})


def texts(all_words: set[str], content: str) -> dict[str, str]:
    """The content for each word: alone for the mast's name, with a number elsewhere.

    Numbers keep apart what has to have a name of its own, such as materials.
    """
    return {w: content if w == "Zq01q" else f"{content} {w[2:4]}" for w in sorted(all_words)}


def _changed(value: Any, change: Callable[[str], str], seen: dict[int, tuple[Any, Any]]) -> Any:
    if isinstance(value, Enum):
        return value
    if isinstance(value, str):
        return change(value)
    if id(value) in seen:
        return seen[id(value)][1]
    new = value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        new = copy.copy(value)
        for field in dataclasses.fields(value):
            old = getattr(value, field.name)
            if (other := _changed(old, change, seen)) is not old:
                object.__setattr__(new, field.name, other)
    elif isinstance(value, tuple | list):
        new = type(value)(_changed(v, change, seen) for v in value)
    elif isinstance(value, dict):
        new = {_changed(k, change, seen): _changed(v, change, seen) for k, v in value.items()}
    # The old value is kept beside the new one, so that its id stays its own.
    seen[id(value)] = (value, new)
    return new
