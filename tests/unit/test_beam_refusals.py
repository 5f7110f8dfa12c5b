"""Beams past what they can bear, where no shape is found; and changes that weigh nothing."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from mastcheck.beam.flutter import stands
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.modes import mass_matrix
from mastcheck.beam.sensitivity import PropertyRates
from mastcheck.beam.solve import FrameModel
from tests.beams import EI, uniform
from tests.reference.test_sensitivity import CHANGES, FRACTIONS, ROWS, L, changed_beam


def test_where_no_balanced_shape_is_found_none_stands() -> None:
    model = uniform()
    frame = FrameModel(model, elements=4)
    mass = mass_matrix(model, frame)
    load = TipLoad(lift=EI / model.length**2, arm=(0.05, 0.05, 0.0), follower=True)
    assert stands(frame, load, 0.1, mass)
    assert not frame.equilibrium([load], [1e7]).converged[0]
    assert not stands(frame, load, 1e7, mass)


def test_changes_that_weigh_nothing_change_the_mass_by_the_length_alone() -> None:
    model, _, _ = changed_beam(np.zeros(len(CHANGES.length)), None)
    weightless = {k: v for k, v in CHANGES.properties.items() if k != "mass_per_length"}
    rates = PropertyRates(
        model, FRACTIONS * L, ROWS, dataclasses.replace(CHANGES, properties=weightless)
    )
    assert rates.mass() == pytest.approx(rates.length * model.mass())
    whole = PropertyRates(model, FRACTIONS * L, ROWS, CHANGES)
    assert np.abs(whole.mass() - rates.mass()).max() > 1e-6
