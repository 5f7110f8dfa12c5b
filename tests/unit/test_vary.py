"""``--vary`` as people write it, and as they mistype it."""

from __future__ import annotations

import math

import pytest

from mastcheck.cli.vary import read_values, read_variables, read_vary
from mastcheck.errors import Problem


@pytest.mark.parametrize(
    ("text", "key", "values"),
    [
        ("wall=2mm:3.5mm:4", "wall", (0.002, 0.0025, 0.003, 0.0035)),
        (" base_chord = 11 cm : 0.16 m : 6 ", "base_chord", (0.11, 0.12, 0.13, 0.14, 0.15, 0.16)),
        ("wall=2mm, 3 mm", "wall", (0.002, 0.003)),
        ("wall=2mm", "wall", (0.002,)),
        ('length=30":36":2', "length", (0.762, 0.9144)),
        ("rider=70kg:100kg:4", "rider", (70.0, 80.0, 90.0, 100.0)),
        ("ply_2_angle=-45deg:45deg:3", "ply_2_angle", (-math.pi / 4, 0.0, math.pi / 4)),
    ],
)
def test_values(text: str, key: str, values: tuple[float, ...]) -> None:
    problems: list[Problem] = []
    found = read_values("", text, problems)
    assert not problems
    assert found is not None
    assert found.key == key
    assert found.values == pytest.approx(values, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wal=2mm:3mm:2", "did you mean wall"),
        ("=2mm", "names nothing"),
        ("wall", "has no values"),
        ("wall=", "does not start with a finite number"),
        ("wall=2:3:4", "a bare number has no unit"),
        ("wall=2mm:3mm", "not how many"),
        ("wall=2mm:3mm:1", "from 2 to"),
        ("wall=2mm:3mm:99999", "from 2 to"),
        ("wall=2mm:3mm:-4", "no number of values"),
        ("wall=2mm:3mm:4.5", "no number of values"),
        ("wall=2mm:3mm:4:5", "from the smaller to the larger"),
        ("wall=3mm:2mm:4", "from the smaller to the larger"),
        ("wall=2mm,2mm", "twice"),
        ("wall=2kg:3kg:2", "kg is a unit of mass"),
        ("length=1cm:2cm:2", "50 mm to 10 m"),
        ("rider=1kg,80kg", "10 kg to 300 kg"),
    ],
)
def test_a_slip_is_told_with_its_remedy(text: str, words: str) -> None:
    problems: list[Problem] = []
    assert read_values("", text, problems) is None
    assert len(problems) == 1
    assert words in str(problems[0])
    assert problems[0].remedy


def test_a_key_alone_and_a_range_are_left_to_the_command() -> None:
    problems: list[Problem] = []
    alone, ranged = read_vary("wall", problems), read_vary("wall=2mm:3mm", problems)
    assert not problems
    assert alone is not None
    assert (alone.values, alone.range) == ((), None)
    assert ranged is not None
    assert ranged.range == (0.002, 0.003)


def test_a_key_given_twice_is_refused() -> None:
    problems: list[Problem] = []
    read_variables(("length=70cm",), (("length", "65cm:95cm:7"), ("rider", None)), problems)
    assert [p.found for p in problems] == ["length"]
