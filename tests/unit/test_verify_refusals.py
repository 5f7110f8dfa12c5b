"""Rows of the verification that ask for what there is not: told in words, and never passed."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from mastcheck.errors import MastcheckError
from mastcheck.files.shipped import shipped
from mastcheck.report import verification_words as say
from mastcheck.verify import beams, bolts, laminates, materials, shapes, stability
from mastcheck.verify.given import Given
from mastcheck.verify.run import Outcome
from mastcheck.verify.table import read
from tests.unit.test_verify import ONE


def given(**values: Any) -> Given:
    return Given(values=values, shipped=shipped())


def test_a_compliance_is_found_in_one_of_two_ways() -> None:
    bar = beams._bar(given())
    both = [beams._compliance(bar, given(by=way)) for way in ("integral", "elements")]
    assert both[0] == pytest.approx(both[1], rel=1e-3, abs=1e-15)
    with pytest.raises(MastcheckError, match=r"given\.by = 'guess': want integral or elements"):
        beams._compliance(bar, given(by="guess"))


def test_a_shape_is_one_of_those_known() -> None:
    with pytest.raises(MastcheckError, match=r"given\.shape = 'star': want one of .*ellipse"):
        shapes.shape(given(shape="star"))


def test_a_strength_that_no_standard_states_is_not_made_up() -> None:
    silent = next(name for name, c in shipped().classes.items() if c.proof is None)
    with pytest.raises(MastcheckError, match=f"{silent} states no such strength"):
        bolts._class_stress(given(**{"class": silent, "of": "proof"}))
    stated = next(c for c in shipped().classes.values() if c.proof is not None)
    assert bolts._class_stress(given(**{"class": stated.name, "of": "proof"})) == stated.proof
    bare = next(name for name, m in shipped().materials.items() if m.proof_strength is None)
    with pytest.raises(MastcheckError, match="has no such strength"):
        materials._proof(given(name=bare))


def test_a_ply_has_three_stresses() -> None:
    with pytest.raises(MastcheckError, match=r"given\.at = 3: want 0, 1 or 2"):
        laminates._turned_stress(given(at=3))


def test_a_flutter_that_is_not_found_is_no_number(monkeypatch: pytest.MonkeyPatch) -> None:
    none = SimpleNamespace(flutters=False, factor=math.inf)
    monkeypatch.setattr(stability, "_flutter", lambda: none)
    with pytest.raises(ArithmeticError, match="no flutter was found"):
        stability._following(given(of="load"))


def test_nil_and_no_number_have_one_figure_and_no_difference() -> None:
    row = read(ONE)[0]
    none = Outcome(row=row, computed=math.nan, fault="ValueError: x")
    assert (none.digits, none.shown) == (1, None)
    assert say.difference(none) == "–"
    nil = Outcome(row=replace(row, absolute=True), computed=0.0)
    assert (nil.digits, nil.shown) == (1, 0.0)
    assert not nil.held
