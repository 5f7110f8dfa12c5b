"""Twist of a mast whose torsional stiffness changes by powers of ten along it, by its integral."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam import compliance
from mastcheck.beam.compliance import tip_compliance
from mastcheck.beam.model import BeamModel
from tests.beams import GJ, beam, properties

L = 0.8


def tapered(thin: float) -> BeamModel:
    """Sizes go from 1 to ``thin`` in a straight line, GJ with their fourth power; hardly any warping."""
    return beam(*[properties(1 - (1 - thin) * t) for t in np.linspace(0, 1, 9)], length=L)


@pytest.mark.parametrize("thin", [0.7, 0.2, 0.05])
def test_twist_of_a_steep_taper_is_its_integral(thin: float) -> None:
    """∫ dz/(GJ s⁴), s = 1 - (1 - a) z/L: L (a⁻³ - 1)/(3 GJ (1 - a)); within the least layer of warping
    that a beam is given at its base, 1e-5 of its length.
    """
    exact = L * (thin**-3 - 1) / (3 * GJ * (1 - thin))
    assert tip_compliance(tapered(thin))[5, 5] == pytest.approx(exact, rel=1e-5)


def test_steep_pieces_are_halved_until_each_is_gentle() -> None:
    model = tapered(0.2)
    pieces = list(compliance._gentle(model, 0.0, L, 0))
    assert len(pieces) > 2
    assert pieces[0][0] == 0.0
    assert pieces[-1][1] == L
    for (a, b), (c, _) in zip(pieces, [*pieces[1:], (L, L)], strict=True):
        assert b == c
        ends = model.stiffness(np.array([a, b]), 0).GJ
        assert max(ends) / min(ends) <= compliance._STEEP
    assert list(compliance._gentle(tapered(0.9), 0.0, L, 0)) == [(0.0, L)]
    # Six halvings and no more: of a taper to next to nothing the last pieces stay as they are.
    assert min(b - a for a, b in compliance._gentle(tapered(1e-3), 0.0, L, 0)) == pytest.approx(L / 64)
