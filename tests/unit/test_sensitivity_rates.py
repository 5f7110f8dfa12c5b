"""Rates of resultants at every kind of node and of fixed ends; see ``reference/test_sensitivity.py``."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam import balance
from mastcheck.beam.ends import lever
from mastcheck.beam.model import BeamModel
from mastcheck.beam.sensitivity import (
    Changes,
    Perturbation,
    PropertyRates,
    compliance_rates,
    element_rates,
    resultant_rates,
)
from mastcheck.beam.solve import FrameModel
from tests.beams import properties
from tests.reference.test_sensitivity import (
    CHANGES,
    COUNT,
    FRACTIONS,
    JOINT,
    ROWS,
    L,
    cases,
    changed_beam,
)


@pytest.mark.parametrize("joint", [None, JOINT], ids=["clamped", "joints"])
def test_resultants_change_as_differences_say_from_base_to_tip(
    joint: np.ndarray | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the base, at the tip, at their neighbours and between, against masts solved again."""
    monkeypatch.setattr(balance, "_AIM", 1e-9)
    model, frame, _ = changed_beam(np.zeros(COUNT), joint)
    rates = PropertyRates(model, FRACTIONS * L, ROWS, CHANGES)
    moves = Perturbation(elements=element_rates(frame, rates), length=rates.length)
    eq = frame.equilibrium(cases(L))
    nodes = (0, 1, frame.n // 2, frame.n - 2, frame.n - 1)
    now = frame.solve(cases(L)).resultants
    size = np.abs(now).max(axis=1)
    step = 1e-3
    for p in range(COUNT):
        ends = []
        for sign in (1, -1):
            _, changed, length = changed_beam(sign * step * np.eye(COUNT)[p], joint)
            assert changed.n == frame.n
            ends.append(changed.solve(cases(length)).resultants)
        want = (ends[0] - ends[1]) / (2 * step)
        for node in nodes:
            for case in range(len(now)):
                found = resultant_rates(frame, eq, case, node, moves)[:, p]
                scale = np.maximum(size[case], np.abs(want[case, node]))
                assert np.abs((found - want[case, node]) / scale).max() < 2e-5, (node, case, p)


@pytest.mark.parametrize("at_tip", [False, True])
def test_what_a_fixed_end_adds_is_carried_to_the_tip(at_tip: bool) -> None:
    """Springs in a row add: the tip's compliance changes by the end's change, seen from the tip."""
    end = np.zeros((6, 6))
    end[5, 5], end[3, 5], end[5, 3] = 2e-6, 1e-7, 1e-7
    change = np.zeros((6, 6, 2))
    change[5, 5], change[3, 5], change[5, 3] = (3e-6, 1e-6), (0.0, 4e-7), (0.0, 4e-7)
    model = BeamModel(
        np.linspace(0, L, 3), [properties(EGamma=2.0)] * 3, [0, L], tip_restrained=at_tip,
        base_end=None if at_tip else end, tip_end=end if at_tip else None,
    )  # fmt: skip
    frame = FrameModel(model, elements=12)
    still = Changes(
        properties={}, fibre_before=np.zeros((3, 3, 2)), fibre_after=np.zeros((3, 3, 2)),
        contraction=np.zeros((3, 3, 2)), length=np.zeros(2),
    )  # fmt: skip
    rates = PropertyRates(model, np.linspace(0, L, 3), tuple([properties(EGamma=2.0)] * 3), still)
    assert not element_rates(frame, rates).any()
    asked = {"tip_end" if at_tip else "base_end": change}
    found = compliance_rates(frame, element_rates(frame, rates, **asked), rates.length)
    t = np.eye(6) if at_tip else lever(L)
    assert found == pytest.approx(np.einsum("ai,abp,bj->ijp", t, change, t), rel=1e-6, abs=1e-13)
