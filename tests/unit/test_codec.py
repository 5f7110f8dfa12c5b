"""The codec of records: every class that a result may hold, filled at random, there and back."""

from __future__ import annotations

import dataclasses
import json
import math
import types
import typing
from enum import Enum
from random import Random
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from mastcheck.checks import edge_result
from mastcheck.report.codec import Codec
from mastcheck.report.codec_arrays import Budget, MismatchError
from mastcheck.report.record import codec
from tests.records import Likeness

NAMES = {edge_result.Change: "EdgeChange"}
ODD = (0.0, -0.0, 1.0, -1e-300, 1e300, 0.1, math.inf, -math.inf, math.nan, 7, 5e-324)
WORDS = ("", "mast", "ref", "inf", "nan", "is", "é\u2028", "\x00\x1b[0m", "\udce9", "<b>", "日本", '"\\')
TRIANGLE = Polygon([(0, 0), (0.1, -0.0), (0.05, 1 / 3)])
RING = Polygon([(0, 0), (3, 0), (3, 3), (0, 3)], [[(1, 1), (2, 1), (2, 2)]])


def made(hint: Any, chance: Random, depth: int = 0) -> Any:
    """A random value of a type hint; a few levels down the smallest there is."""
    origin, inside = typing.get_origin(hint), typing.get_args(hint)
    if hint is float:
        return chance.choice(ODD)
    if hint is int:
        return chance.choice((0, -1, 2**62, -(2**62)))
    if hint is bool:
        return chance.random() < 0.5
    if hint is str:
        return chance.choice(WORDS)
    if hint is type(None):
        return None
    if hint is Polygon:
        return chance.choice((TRIANGLE, RING))
    if origin is typing.Literal:
        return chance.choice(inside)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return chance.choice(list(hint))
    if origin is types.UnionType:
        plain = [h for h in inside if not dataclasses.is_dataclass(h)]
        return made(chance.choice(plain if plain and depth > 4 else inside), chance, depth)
    if origin is dict:
        return {w: made(inside[1], chance, depth + 1) for w in chance.sample(WORDS, 3)}
    if origin is tuple and inside[-1] is Ellipsis:
        size = chance.randrange(3) if depth < 5 else 0
        return tuple(made(inside[0], chance, depth + 1) for _ in range(size))
    if origin is tuple:
        return tuple(made(h, chance, depth + 1) for h in inside)
    if origin is np.ndarray:
        shape = tuple(chance.randrange(4) for _ in range(chance.randrange(1, 4)))
        kind = typing.get_args(inside[1])[0]
        values = [made(int if kind is np.int64 else float, chance) for _ in range(math.prod(shape))]
        return np.array(values, dtype=kind).reshape(shape)
    assert dataclasses.is_dataclass(hint), hint
    hints = typing.get_type_hints(hint)
    return hint(**{f.name: made(hints[f.name], chance, depth + 1) for f in dataclasses.fields(hint)})


@pytest.mark.parametrize("name", sorted(codec().classes.keys() - {"Polygon"}))
def test_every_class_comes_back_as_it_was(name: str) -> None:
    cls = codec().classes[name]
    its = Codec(cls, names=NAMES)
    for seed in range(8):
        old = made(cls, Random(f"{name} {seed}"))
        written = its.write(old)
        text = json.dumps(written, allow_nan=False, ensure_ascii=False).encode()
        new = its.read(json.loads(text), Budget(10**8))
        Likeness(narrow=False).same(old, new)
        assert its.write(new) == written


@dataclasses.dataclass(frozen=True)
class Small:
    at: float
    names: tuple[str, ...] = ()
    grid: np.ndarray[Any, np.dtype[np.int64]] | None = None


def test_what_a_field_cannot_hold_is_never_written() -> None:
    its = Codec(Small)
    for wrong in (
        Small(at=True), Small(at="1"), Small(at=None), Small(at=1.0, names=(1,)),
        Small(at=1.0, grid=np.array([0.5])), Small(at=1.0, grid=np.array([object()])),
    ):  # type: ignore[arg-type]  # fmt: skip
        with pytest.raises(TypeError):
            its.write(wrong)
    with pytest.raises(TypeError):
        its.write(object())


def test_numpy_scalars_are_plain_numbers_when_they_come_back() -> None:
    its = Codec(Small)
    new = its.read(its.write(Small(at=np.float64(0.1))), Budget(0))  # type: ignore[arg-type]
    assert type(new.at) is float
    assert new.at == 0.1


def test_arrays_cannot_be_changed_after_they_are_read() -> None:
    its = Codec(Small)
    new = its.read(its.write(Small(at=0.0, grid=np.array([1, 2]))), Budget(100))
    with pytest.raises(ValueError, match="read-only"):
        new.grid[0] = 5


def test_whole_numbers_keep_their_size_and_equal_arrays_a_place() -> None:
    its = Codec(Small)
    short, long = np.array([1, -2]), np.array([2**40, 0])
    assert its.write(Small(at=0.0, grid=short))["arrays"][0]["type"] == "<i4"
    assert its.write(Small(at=0.0, grid=long))["arrays"][0]["type"] == "<i8"
    many = Codec(Pair)
    twice = many.write(Pair(first=Small(at=0.0, grid=short), second=Small(at=1.0, grid=short.copy())))
    assert len(twice["arrays"]) == 1


@dataclasses.dataclass(frozen=True)
class Pair:
    first: Small
    second: Small


def test_a_reference_must_be_of_the_class_that_its_place_allows() -> None:
    its = Codec(Pair)
    both = Small(at=1.0)
    data = its.write(Pair(first=both, second=both))
    assert data["root"] == {"first": {"ref": 0}, "second": {"ref": 0}}
    read = its.read(data, Budget(0))
    assert read.first is read.second
    pair = {"is": "Pair", "first": {"ref": 0}, "second": {"ref": 0}}
    wrong = {**data, "objects": [*data["objects"], pair], "root": {**data["root"], "first": {"ref": 1}}}
    with pytest.raises(MismatchError, match=r"first.ref = 1: is a Pair, which cannot stand here"):
        its.read(wrong, Budget(0))
    itself = {**data, "objects": [{"is": "Pair", "first": {"ref": 0}, "second": {"ref": 0}}]}
    with pytest.raises(MismatchError, match="names no object that stands before this one"):
        its.read(itself, Budget(0))


def test_two_classes_of_one_name_are_told_apart_or_refused() -> None:
    with pytest.raises(TypeError, match="two classes of a record are called Small"):
        Codec(Clash)
    assert Codec(Clash, names={OTHER: "OtherSmall"}).classes.keys() >= {"Small", "OtherSmall"}


OTHER = dataclasses.make_dataclass("Small", [("x", int)], frozen=True)


@dataclasses.dataclass(frozen=True)
class Clash:
    one: Small
    two: OTHER  # type: ignore[valid-type]
