"""Rules of the finite elements: their nodes, what counts as balanced, what is refused as too steep."""

from __future__ import annotations

import numpy as np
import pytest

from mastcheck.beam import solve
from mastcheck.beam.ends import spread
from mastcheck.beam.loads import TipLoad
from mastcheck.beam.solve import FrameModel
from mastcheck.errors import GeometryError
from tests.beams import uniform

L = 0.8
JOINT = np.diag([1e-7, 2e-7, 1e-8, 3e-5, 1e-5, 5e-5])


def test_a_joint_is_put_in_a_short_element_at_its_own_end() -> None:
    """A four-hundredth of the length: 2 mm of 800."""
    plain = FrameModel(uniform(L), elements=10)
    base = FrameModel(uniform(L), elements=10, base_joint=JOINT)
    tip = FrameModel(uniform(L), elements=10, tip_joint=JOINT)
    assert np.setdiff1d(base.z.round(9), plain.z.round(9))[0] == pytest.approx(0.002)
    assert tip.z[[-2, -1]] == pytest.approx([L - 0.002, L])
    for frame in (base, tip):
        assert (np.diff(frame.z) > 0).all()
        assert frame.n == len(frame.z)


def test_forty_elements_are_taken_unless_others_are_asked_for() -> None:
    assert FrameModel(uniform(L)).z.tolist() == FrameModel(uniform(L), elements=40).z.tolist()
    assert np.diff(FrameModel(uniform(L)).z).max() == pytest.approx(L / 40, rel=1e-3)


def test_what_is_left_over_decides_whether_a_shape_is_balanced(monkeypatch: pytest.MonkeyPatch) -> None:
    frame = FrameModel(uniform(L), elements=10)
    push = [TipLoad(lift=500.0, force=(0, 100.0, 0))]
    left = float(frame.solve(push).residual[0])
    assert left > 0
    for bound, expected in ((left * 2, True), (left, False), (left / 2, False)):
        monkeypatch.setattr(solve, "CONVERGED", bound)
        assert bool(frame.solve(push).converged[0]) is expected


def test_an_element_that_would_give_work_is_named() -> None:
    """A flexibility with one negative eigenvalue in eight gives back more than is put in."""
    z = np.array([0.0, 0.1, 0.25, 0.4])
    sound = np.tile(np.diag([1e-4, 1e-4, 1e-9, 1e-3, 1e-3, 1e-3, 1e-2, 1e-2]), (3, 1, 1))
    solve._refuse_steep(z, sound)
    steep = sound.copy()
    # Twist and bending tied by more than the root of their own: 1.1 of it.
    steep[1, 3, 5] = steep[1, 5, 3] = 1.1e-3
    with pytest.raises(GeometryError, match="between 100 and 250 mm from the base"):
        solve._refuse_steep(z, steep)
    steep[1, 3, 5] = steep[1, 5, 3] = 0.9e-3
    solve._refuse_steep(z, steep)


@pytest.mark.parametrize("at_tip", [False, True])
def test_the_length_that_an_end_must_reach_is_of_the_whole(at_tip: bool) -> None:
    """A fiftieth of a metre takes two elements of 17.5 mm, one of 300 mm far away being of it too."""
    far = [0.0, *np.linspace(0.3, 1.0, 41)]
    z = np.array(far if at_tip else [1.0 - x for x in reversed(far)])
    own = np.tile(np.diag([1e-6] * 5 + [4e-3] + [1e-6] * 2), (41, 1, 1))
    found = spread(z, own, -np.diag([0, 0, 0, 0, 0, 1e-6]), at_tip=at_tip)
    assert [e for e, _, _ in found] == ([40, 39] if at_tip else [0, 1])
    assert [part for _, part, _ in found] == pytest.approx([0.5, 0.5])
