"""What a setting changes of a mast, and which settings a mast refuses."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from mastcheck.errors import InputError
from mastcheck.job import Job
from mastcheck.mast import Mast, Wall
from mastcheck.search.size_space import MOST_FREE, free_sizes
from mastcheck.search.variables import KEYS, DesignError, shown, varied
from tests import kept, masts


def hollow(*walls: float | Wall) -> Mast:
    """A hollow mast with these walls at evenly spaced stations."""
    made = masts.mast(wall=0.002)
    first = made.stations[0]
    last = len(walls) - 1
    return replace(
        made, stations=tuple(replace(first, at=k / last, wall=wall) for k, wall in enumerate(walls))
    )


def walls(mast: Mast) -> list[object]:
    return [s.wall for s in mast.stations]


def of(mast: Mast, **settings: float) -> Mast:
    return varied(Job(mast=mast), settings).mast


def test_a_wall_changed_at_one_end_leaves_the_other() -> None:
    made = hollow(0.003, 0.0025, 0.002)
    assert walls(of(made, base_wall=0.0045)) == pytest.approx([0.0045, 0.0025 * 1.25, 0.002])
    assert walls(of(made, tip_wall=0.003)) == pytest.approx([0.003, 0.0025 * 1.25, 0.003])


def test_a_wall_that_differs_from_face_to_face_keeps_its_character() -> None:
    wall = Wall(port=((0.2, 0.002), (0.6, 0.003)), starboard=((0.4, 0.0015),))
    twice = Wall(port=((0.2, 0.004), (0.6, 0.006)), starboard=((0.4, 0.003),))
    made = hollow(wall, wall)
    # A setting is the greatest wall, of whichever face.
    assert walls(of(made, wall=0.006)) == [twice, twice]
    assert walls(of(made, base_wall=0.006)) == [twice, wall]
    assert walls(of(made, tip_wall=0.006)) == [wall, twice]


def test_one_ply_is_changed_all_along_the_mast_and_the_skin_with_it() -> None:
    made = kept.mast("laminated", ratio=0.5)
    changed = of(made, ply_2_thickness=0.0018)
    assert [[p.thickness for p in s.plies] for s in changed.stations] == [
        pytest.approx([0.0006, 0.0018, 0.0007]), pytest.approx([0.0003, 0.0009, 0.00035]),
    ]  # fmt: skip
    # More fibres along the mast, by the rule of mixtures: stiffer along it, and softer in shear.
    more, given = changed.section.material, of(made, ply_2_thickness=0.0012).section.material
    assert more.E > given.E
    assert more.G < given.G
    assert more.laminate is not None
    assert [p.thickness for p in more.laminate.plies] == pytest.approx([0.0006, 0.0018, 0.0007])


def test_a_layup_in_proportion_keeps_the_skin_as_stiff() -> None:
    made = of(kept.mast("laminated"), ply_1_angle=math.pi / 4)  # the skin homogenised from its plies
    thicker = of(made, layup=0.005)
    assert sum(p.thickness for p in thicker.stations[0].plies) == pytest.approx(0.005)
    skins = made.section.material, thicker.section.material
    for name in ("E", "G", "density"):
        before, after = (getattr(skin, name) for skin in skins)
        assert after == pytest.approx(before, rel=1e-12)


def test_a_ply_turned_from_the_mast_stiffens_it_less() -> None:
    made = of(kept.mast("laminated"), ply_2_angle=0.0)
    turned = of(made, ply_2_angle=-math.radians(30))
    assert [s.plies[1].angle for s in turned.stations] == pytest.approx([-math.radians(30)] * 2)
    assert turned.section.material.E < made.section.material.E


def test_a_ply_that_begins_above_the_base_has_no_thickness_there_to_change() -> None:
    made = kept.mast("laminated")
    base = made.stations[0]
    plies = (base.plies[0], replace(base.plies[1], thickness=0.0), base.plies[2])
    made = replace(made, stations=(replace(base, plies=plies), *made.stations[1:]))
    with pytest.raises(DesignError, match="ply_2_thickness: this ply does not reach the base"):
        of(made, ply_2_thickness=0.001)


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"wall": 0.002}, "^wall: this mast has no wall$"),
        ({"ply_1_thickness": 0.001}, "ply_1_thickness: this mast has no ply 1 .they are counted"),
        ({"tip_wall": 0.002}, "^tip_wall: this mast has no wall at the tip$"),
        ({"layup": 0.001}, "^layup: this mast has no plies in its faces$"),
        ({"chord": 0.0}, "chord: must be more than nothing, and is 0"),
        ({"length": math.nan}, "length: must be more than nothing, and is nan"),
        ({"ply_1_thick": 0.001}, "did you mean ply_1_thickness"),
        ({"ply_0_angle": 0.1}, "did you mean ply_1_angle"),
        ({"zzz": 0.1}, "known are length, rider"),
        ({"thickness": 0.2}, "thicker .200 mm. than wide .150 mm."),
    ],
)
def test_what_a_solid_mast_refuses(settings: dict[str, float], words: str) -> None:
    with pytest.raises(DesignError, match=words):
        of(masts.mast(), **settings)


def test_walls_that_meet_are_refused() -> None:
    # 18 mm thick: two walls of 9 mm leave nothing between them.
    with pytest.raises(DesignError, match="walls of 9 mm leave no hollow in 18 mm"):
        of(hollow(0.002, 0.002), wall=0.009)
    with pytest.raises(DesignError, match=r"walls of 9\.5 mm leave no hollow"):
        of(hollow(Wall.uniform(0.002), Wall.uniform(0.002)), wall=0.0095)


def test_a_mast_no_longer_than_its_ride_height_is_refused() -> None:
    job = Job(mast=masts.mast())
    job = replace(job, conditions=replace(job.conditions, ride_height=0.6))
    assert varied(job, {"length": 0.61}).mast.length == 0.61
    with pytest.raises(DesignError, match="600 mm is no more than the ride height of 600 mm"):
        varied(job, {"length": 0.6})


def test_settings_are_shown_in_the_unit_a_person_writes() -> None:
    assert shown("ply_1_angle", math.pi / 6) == "30 deg"
    assert shown("ply_2_thickness", 0.00025) == "0.25 mm"
    assert shown("rider", 82.5) == "82.5 kg"


def test_no_more_sizes_at_once_than_a_search_can_carry() -> None:
    job = Job(mast=hollow(0.002, 0.002))
    keys = [key for key in KEYS if key not in ("length", "rider", "layup")]
    assert len(keys) > MOST_FREE
    assert len(free_sizes(job, [(key, None) for key in keys[:MOST_FREE]])) == MOST_FREE
    with pytest.raises(InputError, match="no more than 8 sizes at once"):
        free_sizes(job, [(key, None) for key in keys])
