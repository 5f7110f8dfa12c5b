"""A mast cut, asked for places, and what its tail and its foil are to the water."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from mastcheck import notebook
from mastcheck.failure import tsai_wu_ratio
from mastcheck.foil import Foil, Wing
from mastcheck.mast import Mast, ModifiedNaca, OutlineKind, Ruled
from mastcheck.motion.divergence import wing_stiffness
from mastcheck.motion.shedding import Edge, tail
from mastcheck.water.drag import mast_drag
from mastcheck.water.friction import MOST_REYNOLDS
from mastcheck.water.manoeuvres import pumping
from tests.kept import TAPE
from tests.masts import mast
from tests.reference.test_water_drag import EVEN, SEA, TEN
from tests.reference.test_water_manoeuvres import figures, with_conditions
from tests.reports import make_mast

TAPERED = mast((0.150, 0.018), (0.090, 0.012), length=0.8)
MODIFIED = ModifiedNaca(nose_index=6.0, greatest_at=0.4)


def outlined(made: Mast, *outlines: OutlineKind | ModifiedNaca, **recipe: float) -> Mast:
    """The mast with an outline of its own at each station."""
    stations = tuple(replace(s, outline=o) for s, o in zip(made.stations, outlines, strict=True))
    return replace(made, stations=stations, section=replace(made.section, **recipe))


def test_a_cut_keeps_the_sizes_where_the_metal_stays() -> None:
    # 600 of 800 mm left: at the tip cut, three quarters of the way from 150 to 90 mm.
    tip, base = (TAPERED.with_length(0.6, end) for end in ("tip", "base"))
    assert [s.chord for s in tip.stations] == pytest.approx([0.150, 0.105])
    assert [s.chord for s in base.stations] == pytest.approx([0.135, 0.090])
    assert [s.at for s in base.stations] == [0.0, 1.0]
    # Without a cut the taper stretches.
    assert [s.chord for s in TAPERED.with_length(0.9).stations] == [0.150, 0.090]


@pytest.mark.parametrize("end", ["base", "tip"])
def test_no_cut_lengthens_a_mast(end: str) -> None:
    with pytest.raises(ValueError, match="a trim can only shorten"):
        TAPERED.with_length(0.81, end)  # type: ignore[arg-type]
    assert TAPERED.with_length(0.8, end).stations == TAPERED.stations  # type: ignore[arg-type]


def test_a_hair_beyond_the_tip_is_the_tip() -> None:
    found = TAPERED.station_at(1 + 1e-12)
    assert (found.chord, found.thickness) == (0.090, 0.012)


def test_a_ply_without_strengths_has_no_index() -> None:
    assert TAPE.strengths is None
    with pytest.raises(ValueError, match="tape states no strengths"):
        tsai_wu_ratio(TAPE, np.array([[1e6, 0.0, 0.0]]))


def test_without_a_wing_no_lift_is_counted() -> None:
    wing = Wing(area=0.15, span=0.95, ahead=0.18)
    assert wing_stiffness(Foil(mass=2.0, wing=wing)).any()
    assert not wing_stiffness(Foil(mass=2.0)).any()


@pytest.mark.parametrize(
    ("recipe", "edge", "width"),
    [
        ({"trailing_edge_radius": 0.0008}, Edge.ROUNDED, 0.0016),
        ({"trailing_edge_thickness": 0.002}, Edge.SQUARE, 0.002),
    ],
)
def test_the_tail_of_a_modified_section(recipe: dict[str, float], edge: Edge, width: float) -> None:
    made = outlined(EVEN, MODIFIED, MODIFIED, **recipe)
    found, thick = tail(made, 0.5)
    assert found is edge
    assert thick == pytest.approx(width, rel=1e-3)


def drag_notes(made: Mast, **given: object) -> tuple[str, ...]:
    return mast_drag(made, **({"level": 0.3, "speeds": TEN, "water": SEA} | given)).notes  # type: ignore[arg-type]


def test_between_two_streamlined_outlines_the_profile_drag_is_known() -> None:
    unknown = "Profile drag is that of streamlined sections"
    for other, told in ((MODIFIED, False), (OutlineKind.LENS, True)):
        cut = outlined(EVEN, OutlineKind.NACA_4_DIGIT, other).with_length(0.7, "tip")
        assert isinstance(cut.stations[-1].outline, Ruled)
        assert any(unknown in note for note in drag_notes(cut)) is told


def test_a_speed_beyond_the_friction_line_is_told() -> None:
    words = "above the friction line's 1e+09"
    # In sea water, some 1.2e-6 m²/s, a chord of 0.12 m passes 1e9 at 1e4 m/s.
    fast = 1.1 * MOST_REYNOLDS * SEA.viscosity / 0.12
    assert any(words in note for note in drag_notes(EVEN, speeds=np.array([fast])))
    assert not any(words in note for note in drag_notes(EVEN, speeds=np.array([0.9 * fast / 1.1])))


def test_a_stroke_that_throws_the_rider_off_is_told() -> None:
    # a (2 π f)² against g: at 2 Hz, 62 mm.
    most = 9.80665 / (2 * math.pi * 2.0) ** 2
    for amplitude, told in ((0.99 * most, False), (1.01 * most, True)):
        case = pumping(with_conditions(pump_frequency=2.0, pump_amplitude=amplitude))
        assert (figures(case)["least load factor"] < 0) is told
        assert any("thrown off the board" in words for words in case.assumptions) is told


def test_a_notebook_has_no_empty_list_of_cautions() -> None:
    result = make_mast()
    assert "<details" in notebook.html(result)
    assert "**Cautions**" in notebook.markdown(result)
    bare = replace(result, cautions=())
    for text in (notebook.html(bare), notebook.markdown(bare)):
        assert "calculation aid" in text, "what it is stays in sight"
        assert "<details" not in text
        assert "**Cautions**" not in text
