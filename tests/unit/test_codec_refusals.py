"""What a record may not hold: each thing of the wrong kind is refused where it stands."""

from __future__ import annotations

import base64
import copy
import dataclasses
import zlib
from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from mastcheck.report.codec import Codec
from mastcheck.report.codec_arrays import Budget, MismatchError
from mastcheck.report.codec_state import MOST_NODES


@dataclasses.dataclass(frozen=True)
class Bounded:
    """A class that refuses some of its own values."""

    size: float

    def __post_init__(self) -> None:
        if self.size < 0:
            raise ValueError("size must not be below 0")


@dataclasses.dataclass(frozen=True)
class Other:
    name: str


@dataclasses.dataclass(frozen=True)
class Whole:
    own: Bounded
    place: tuple[float, float]
    shape: Polygon
    numbers: np.ndarray[Any, np.dtype[np.float64]]
    counts: np.ndarray[Any, np.dtype[np.int64]]
    curves: dict[str, float]
    either: Bounded | Other | None = None
    word: str = ""
    count: int = 0
    sure: bool = False


IT = Codec(Whole)
TRIANGLE = Polygon([(0, 0), (1, 0), (0, 1)])
WHOLE = Whole(
    own=Bounded(1.0), place=(0.1, 0.2), shape=TRIANGLE, numbers=np.array([0.5, 1.5]),
    counts=np.array([3, 4]), curves={"a": 1.0, "b": 2.0}, either=Other("x"),
)  # fmt: skip


def refused(change: dict[str, Any], budget: int = 10_000, **whole: Any) -> str:
    """Why the record is refused, with fields of its root changed."""
    data = copy.deepcopy(IT.write(WHOLE))
    data["root"] |= change
    data |= whole
    with pytest.raises(MismatchError) as caught:
        IT.read(data, Budget(budget))
    return str(caught.value)


def packed(values: Any, **changes: Any) -> dict[str, Any]:
    raw = np.asarray(values, dtype="<f8")
    entry = {
        "type": "<f8",
        "shape": list(raw.shape),
        "packed": False,
        "data": base64.b64encode(raw.tobytes()).decode(),
    }
    return entry | changes


def test_the_whole_comes_back() -> None:
    back = IT.read(IT.write(WHOLE), Budget(10_000))
    assert back.own == WHOLE.own
    assert back.curves == WHOLE.curves
    assert back.either == WHOLE.either
    assert back.shape.equals(TRIANGLE)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"own": 3}, "own = 3: must be an object (Bounded)"),
        ({"own": {"size": -1.0}}, "own: cannot be a Bounded (size must not be below 0)"),
        ({"own": {}}, "own.size: is missing"),
        ({"own": {"size": 1.0, "more": 1}}, "own.more: is no field of Bounded"),
        ({"place": [0.1]}, "place = 1 values: must be 2 values"),
        ({"place": [0.1, "far"]}, "place[1] = 'far': must be a number"),
        ({"curves": [["a", 1.0], ["a", 2.0]]}, "curves: has a key twice"),
        ({"curves": [["a"]]}, "curves[0] = 1 values: must be 2 values"),
        ({"shape": {"rings": []}}, "shape.rings: is missing"),
        ({"numbers": 2}, "numbers = 2: must be an array of numbers of 8 bytes"),
        ({"counts": 1}, "counts = 1: must be an array of whole numbers"),
        ({"numbers": True}, "numbers = True: must be the number of an array"),
        ({"either": {"is": "Whole"}}, "either.is = 'Whole': must be one of Bounded, Other"),
        ({"either": 5}, "either = 5: must be Bounded or Other or null"),
        ({"word": {"surrogates": "zz"}}, "word: must be text"),
        ({"word": {"surrogates": "0041"}}, "word: must be text"),
        ({"word": "\udce9"}, "word = '\\udce9': must be text"),
        ({"count": 2**63}, "count = 9223372036854775808: must be a whole number"),
        ({"count": 1.0}, "count = 1.0: must be a whole number"),
        ({"sure": 1}, "sure = 1: must be true or false"),
    ],
)  # fmt: skip
def test_a_value_of_the_wrong_kind_is_told_with_its_place(change: dict[str, Any], told: str) -> None:
    assert refused(change) == told


def test_a_ring_must_be_closed_and_finite() -> None:
    arrays = IT.write(WHOLE)["arrays"]
    place = IT.write(WHOLE)["root"]["shape"]["rings"][0]
    for points in (
        [(0, 0), (1, 0), (0, 1), (0.5, 0.5)],
        [(0, 0), (1, 0), (0, 0)],
        [(0, 0), (1, np.nan), (0, 1), (0, 0)],
        [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 0)],
    ):
        changed = [packed(points) if i == place else a for i, a in enumerate(arrays)]
        assert refused({}, arrays=changed) == "shape.rings[0]: is no closed ring of points"


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"data": 5}, "arrays[0].data: must be text (base64)"),
        ({"data": "not base64"}, "arrays[0].data: is damaged (no base64)"),
        ({"packed": True}, "arrays[0].data: is damaged (cannot be unpacked)"),
        ({"packed": True, "data": base64.b64encode(zlib.compress(bytes(16))[:-5]).decode()},
         "arrays[0].data: is damaged (not its length)"),
        ({"shape": [3]}, "arrays[0].data = 16 bytes: must be 24 bytes for its shape"),
        ({"more": 1}, "arrays[0]: must hold type, shape, packed and data, and nothing else"),
    ],
)  # fmt: skip
def test_a_damaged_array_is_told_as_one(changes: dict[str, Any], told: str) -> None:
    assert refused({}, arrays=[packed([1.0, 2.0], **changes)]) == told


def test_arrays_must_be_a_list_and_fit_what_may_be_unpacked() -> None:
    assert refused({}, arrays={}) == "arrays: must be a list"
    assert refused({}, budget=8).endswith("unpacks to more than a result may hold")


def test_a_record_with_too_many_values_is_refused_before_they_are_made() -> None:
    @dataclasses.dataclass(frozen=True)
    class Many:
        values: tuple[float, ...]

    many = Codec(Many)
    data = many.write(Many(values=()))
    data["root"]["values"] = [0] * MOST_NODES
    with pytest.raises(MismatchError, match=f"values: holds more than {MOST_NODES} values"):
        many.read(data, Budget(0))


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"count": True}, "whole number"),
        ({"count": 1.5}, "whole number"),
        ({"sure": 1}, "true or false"),
        ({"either": 5}, "int stands where a record has none"),
        ({"own": Other("x")}, "Other stands where a record has Bounded"),
    ],
)
def test_what_a_field_cannot_hold_is_a_fault_when_it_is_written(
    wrong: dict[str, Any], told: str
) -> None:
    with pytest.raises(TypeError, match=told):
        IT.write(dataclasses.replace(WHOLE, **wrong))


def test_a_class_with_a_field_of_an_unknown_kind_has_no_record() -> None:
    @dataclasses.dataclass(frozen=True)
    class Odd:
        words: set[str]

    with pytest.raises(TypeError, match="a record cannot hold set"):
        Codec(Odd)
