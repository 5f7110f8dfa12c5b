"""What the file of a measured mast says of its mass and of bands that are cut short."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest

from mastcheck.checks.measured import Measured, measure
from mastcheck.files.materials import library
from mastcheck.files.written import CUT_SHORT, measured_text
from mastcheck.mast import OutlineKind
from tests.masts import mast

MADE = mast((0.06, 0.02), (0.06, 0.02), outline=OutlineKind.ELLIPSE, material=library()["EN AW-6082-T6"])
"""A solid bar of an ellipse, whose mass is known: 1.91 kg."""
WHOLE = MADE.section.material.density * math.pi * 0.06 * 0.02 / 4 * MADE.length


@cache
def weighed(share: float) -> Measured:
    """The bar, weighed at a share of what it must weigh."""
    return measure(MADE, share * WHOLE)


def said(result: Measured) -> str:
    return measured_text(result, (), outline_assumed=False)


def test_a_solid_mast_that_weighs_what_it_should_is_told_so() -> None:
    assert weighed(1.0).mass_agrees
    text = said(weighed(1.0))
    assert f"taken as solid; its mass, {WHOLE:.4g} kg, agrees" in text
    assert "do not trust" not in text


@pytest.mark.parametrize("share", [0.6, 1.5])
def test_a_solid_mast_that_weighs_something_else_is_not_to_be_trusted(share: float) -> None:
    assert not weighed(share).mass_agrees
    assert weighed(share).mass.value == pytest.approx(WHOLE, rel=1e-3)
    text = said(weighed(share))
    assert f"it weighs {share * WHOLE:.4g} kg where a solid one would weigh 1.9" in text
    assert "do not trust these numbers" in text
    assert "agrees" not in text


def test_a_band_that_was_cut_short_is_told() -> None:
    whole = weighed(1.0)
    assert CUT_SHORT not in said(whole)
    assert CUT_SHORT in said(replace(whole, clamped=True))
