from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mastcheck.errors import MastcheckError
from mastcheck.units import Dimension, UnitError, parse, shown


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("750 mm", Dimension.LENGTH, 0.75),
        ("750mm", Dimension.LENGTH, 0.75),
        (" 2.5  mm ", Dimension.LENGTH, 0.0025),
        ("30 in", Dimension.LENGTH, 0.762),
        ("2.5 ft", Dimension.LENGTH, 0.762),
        ("-60 mm", Dimension.LENGTH, -0.06),
        ("1e3 mm", Dimension.LENGTH, 1.0),
        ("85 kg", Dimension.MASS, 85.0),
        ("200 lb", Dimension.MASS, 90.718474),
        ("200 N", Dimension.FORCE, 200.0),
        ("1 lbf", Dimension.FORCE, 4.4482216152605),
        ("20 N m", Dimension.MOMENT, 20.0),
        ("20 N·m", Dimension.MOMENT, 20.0),
        ("20 Nm", Dimension.MOMENT, 20.0),
        ("70 GPa", Dimension.STRESS, 70e9),
        ("10 ksi", Dimension.STRESS, 68947572.93168361),
        ("1 psi", Dimension.STRESS, 6894.757293168362),
        ("1550 kg/m3", Dimension.DENSITY, 1550.0),
        ("1.55 g/cm³", Dimension.DENSITY, 1550.0),
        ("180 deg", Dimension.ANGLE, math.pi),
        ("0.1 rad", Dimension.ANGLE, 0.1),
        ("0.12 m2", Dimension.AREA, 0.12),
        ("1200 cm²", Dimension.AREA, 0.12),
        ("100 in^2", Dimension.AREA, 0.064516),
        ("8 m/s", Dimension.SPEED, 8.0),
        ("36 km/h", Dimension.SPEED, 10.0),
        ("18 kn", Dimension.SPEED, 9.26),
        ("10 mph", Dimension.SPEED, 4.4704),
        ("0.05 kg m2", Dimension.INERTIA, 0.05),
        ("15 kN/mm", Dimension.STIFFNESS, 15e6),
        ("250 N/mm", Dimension.STIFFNESS, 250e3),
        ("2 N/m", Dimension.STIFFNESS, 2.0),
        ("100 lbf/in", Dimension.STIFFNESS, 17512.683524647637),
        ("3 kN m/rad", Dimension.ROTATIONAL_STIFFNESS, 3000.0),
        ("500 N m/deg", Dimension.ROTATIONAL_STIFFNESS, 500 * 180 / math.pi),
        ("2 kN·m/deg", Dimension.ROTATIONAL_STIFFNESS, 2000 * 180 / math.pi),
        ("500 Nm/deg", Dimension.ROTATIONAL_STIFFNESS, 500 * 180 / math.pi),
        ("0.05 kg·m²", Dimension.INERTIA, 0.05),
        ("1 lb ft2", Dimension.INERTIA, 0.0421401100938048),
    ],
)
def test_reads(text: str, dimension: Dimension, value: float) -> None:
    assert parse(text, dimension) == value  # exactly: one rounding, at the end


@pytest.mark.parametrize(
    ("text", "dimension", "rule", "remedy"),
    [
        (750, Dimension.LENGTH, "bare number", "750 mm"),
        ("750", Dimension.LENGTH, "bare number", "750 mm"),
        (True, Dimension.LENGTH, "is not a length", "750 mm"),
        (None, Dimension.LENGTH, "is not a length", "750 mm"),
        ("85 kg", Dimension.LENGTH, "kg is a unit of mass", "750 mm"),
        ("200 lb", Dimension.FORCE, "lb is a unit of mass", "200 N"),
        ("750 mmm", Dimension.LENGTH, "unknown unit", '"mm"'),
        ("70 gpa", Dimension.STRESS, "unknown unit", '"GPa"'),
        ("7 parsec", Dimension.LENGTH, "unknown unit", "750 mm"),
        ("nan mm", Dimension.LENGTH, "finite number", "750 mm"),
        ("inf mm", Dimension.LENGTH, "finite number", "750 mm"),
        ("", Dimension.LENGTH, "finite number", "750 mm"),
        ("2,5 mm", Dimension.LENGTH, "decimal comma", "decimal point"),
        ("1 2 mm", Dimension.LENGTH, "more than one number", "one decimal number"),
        ("5 1/2 in", Dimension.LENGTH, "more than one number", "one decimal number"),
        ("3 lb 2 oz", Dimension.MASS, "more than one number", "one decimal number"),
        ("13 stone", Dimension.MASS, "unknown unit", "g, kg, lb"),
        ("1e999 mm", Dimension.LENGTH, "", ""),
        ("٣ mm", Dimension.LENGTH, "finite number", ""),
        (float("nan"), Dimension.LENGTH, "bare number", ""),
    ],
)
def test_refuses(text: object, dimension: Dimension, rule: str, remedy: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert rule in caught.value.rule
    assert remedy in caught.value.remedy


@given(st.text())
def test_any_text_gives_a_finite_number_or_a_unit_error(text: str) -> None:
    try:
        value = parse(text, Dimension.LENGTH)
    except MastcheckError as error:
        assert "\n" not in str(error)  # noqa: PT017 - both outcomes are right
    else:
        assert math.isfinite(value)


@given(st.integers(min_value=-(10**9), max_value=10**9))
def test_one_rounding_only(tenths: int) -> None:
    assert parse(f"{tenths} mm", Dimension.LENGTH) == tenths / 1000


def test_shown_escapes_and_cuts() -> None:
    assert shown("a\x1b[31m\n") == '"a\\x1b[31m\\n"'
    assert len(shown("x" * 500)) == 60
