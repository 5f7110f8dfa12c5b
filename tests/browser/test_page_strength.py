"""The page's judgement of strength, its picture and its drag against the library's, in the browser."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from mastcheck.checks.governing import Governing, SectionFaces, governing
from mastcheck.checks.result import CaseResult, LineResult, MastResult
from mastcheck.checks.run import check
from mastcheck.checks.stations import SolvedMast
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.laminate import Lamina
from mastcheck.mast import Mast, OutlineKind, SkinPly
from mastcheck.motion.vibration import waterline
from mastcheck.page.beam_data import beam_data, load_data
from mastcheck.page.drag_data import drag_data
from mastcheck.page.strength_data import GRAINS, strength_data, strength_levels
from mastcheck.strength.stress import by_material, station_stress
from mastcheck.water.drag import mast_drag
from mastcheck.water.side import water_of
from mastcheck.water.wet import wet_area, wet_part
from tests import kept
from tests.browser.scripts import Scripts, source
from tests.kept import PROFILES

FloatArray = NDArray[np.float64]

POSITIONS = 20
AGREES = 1e-6
"""Relative: what the page promises."""
STRONG = {"Xt": 900e6, "Xc": 600e6, "Yt": 40e6, "Yc": 140e6, "S12": 60e6}

JUDGE = "return given.sets.map((resultants) => judge(given.mast, resultants));"
SOLVE = """
return given.positions.map((position) => {
  const found = solveCase(given.mast, position);
  const { length, rideHeight } = position;
  const drag = dragOf(given.mast, { length, rideHeight, speed: position.speed });
  return { drag, judged: found.stable ? judge(given.mast, found.strengthResultants) : null };
});
"""


@pytest.fixture(scope="module")
def script(browser: Any) -> Iterator[Scripts]:
    page = browser.new_page()
    yield Scripts(page, source("beam_", "strength", "drag"))
    page.close()


def _laminated(*, strong: tuple[str, ...]) -> Mast:
    """An unbalanced laminate on a core that states no strength; the named laminas state theirs."""

    def stated(lamina: Lamina) -> Lamina:
        return replace(lamina, **STRONG) if lamina.name in strong else lamina  # type: ignore[arg-type]

    made = kept.mast("laminated")

    def turned(plies: tuple[SkinPly, ...]) -> tuple[SkinPly, ...]:
        return tuple(replace(ply, lamina=stated(ply.lamina)) for ply in plies)

    return replace(made, stations=tuple(replace(s, plies=turned(s.plies)) for s in made.stations))


@lru_cache
def _checked(name: str) -> MastResult:
    match name:
        case "metal without strength":
            return check(Job(mast=kept.mast("hollow")))
        case "plies without strength":
            return check(Job(mast=_laminated(strong=())))
        case "plies in part":
            return check(Job(mast=_laminated(strong=("tape",))))
        case "plies":
            return check(Job(mast=_laminated(strong=("tape", "cloth"))))
        case _:
            return check(load(PROFILES / f"{name}.toml"))


def _mast(result: MastResult) -> dict[str, Any]:
    data = load_data(result), beam_data(result), strength_data(result, 10**9), drag_data(result)
    return {**data[0], "beam": data[1], "strength": data[2], "drag": data[3]}


def _positions(result: MastResult, seed: int) -> list[dict[str, Any]]:
    draw = np.random.default_rng(seed)
    slow, fast = result.job.speeds
    out = []
    for k in range(POSITIONS):
        length = float(result.job.mast.length * draw.uniform(0.5, 1.2))
        out.append(
            {
                "caseIndex": k % len(result.job.cases),
                "length": length,
                "riderMass": float(draw.uniform(45, 110)),
                "loadFactor": None if k % 4 == 0 else float(draw.uniform(0.5, 3)),
                "rideHeight": None if k % 5 == 0 else float(draw.uniform(0, 0.9) * length),
                "speed": float(draw.uniform(slow, fast)),
            }
        )
    return out


def _job_at(result: MastResult, position: dict[str, Any]) -> Job:
    """The job that the page's settings stand for, with one case."""
    job, case = result.job, result.job.cases[position["caseIndex"]]
    if position["loadFactor"] is not None:
        case = replace(case, n=position["loadFactor"])
    if position["rideHeight"] is not None:
        job = replace(job, conditions=replace(job.conditions, ride_height=position["rideHeight"]))
    return replace(
        job,
        mast=job.mast.with_length(position["length"]),
        rider=replace(job.rider, mass=position["riderMass"]),
        cases=(case,),
    )


@pytest.mark.parametrize(
    ("name", "seed"),
    [
        ("aluminium-75-wide", 1),
        ("aluminium-75-tapered", 2),
        ("aluminium-75-three-joints", 3),
        ("carbon-75-wide", 4),
        ("carbon-75-layup", 5),
        ("aluminium-75-one-piece", 6),
    ],
)
def test_any_position_is_judged_as_a_whole_check_does(script: Scripts, name: str, seed: int) -> None:
    result = _checked(name)
    positions = _positions(result, seed)
    found = script.run(SOLVE, {"mast": _mast(result), "positions": positions})
    stable = 0
    for position, here in zip(positions, found, strict=True):
        whole = check(_job_at(result, position))
        _agree_drag(here["drag"], _job_at(result, position), position["speed"])
        case = whole.cases[0]
        assert (here["judged"] is not None) is case.stable
        if case.stable:
            _agree_case(here["judged"], case)
            stable += 1
    assert stable >= POSITIONS / 2


def _agree_case(found: dict[str, Any], case: CaseResult) -> None:
    assert case.utilisation is not None
    assert found["utilisation"] == pytest.approx(case.utilisation, rel=AGREES)
    assert found["alongZ"] == pytest.approx(case.utilisation_along_z, rel=AGREES)
    assert found["governing"]["vonMises"] == pytest.approx(case.max_von_mises, rel=AGREES)
    assert found["governing"]["station"] == case.governing_station
    _agree_findings(found["findings"], case.findings)


def _agree_findings(found: list[dict[str, Any]], wanted: tuple[Any, ...]) -> None:
    """Of two places that use alike, as port and starboard may, either may be named."""
    assert [(f["criterion"], f["unit"]) for f in found] == [(w.criterion, w.unit) for w in wanted]
    assert sorted(f["material"] for f in found) == sorted(w.material for w in wanted)
    for f, w in zip(found, wanted, strict=True):
        assert f["value"] == pytest.approx(w.value, rel=AGREES)
        assert f["limit"] == (None if w.limit is None else pytest.approx(w.limit, rel=1e-9))
        used = None if w.utilisation is None else pytest.approx(w.utilisation, rel=AGREES)
        assert f["utilisation"] == used


def _at(result: MastResult, resultants: FloatArray) -> Governing:
    """What the library finds of resultants (stations, 7)."""
    solved = cast("SolvedMast", SimpleNamespace(z=result.z, sections=result.sections))
    line = cast("LineResult", SimpleNamespace(z=result.z, resultants=resultants))
    return governing(solved, SectionFaces.of(result.sections), line)


def _sets(result: MastResult, seed: int, count: int) -> list[FloatArray]:
    """The resultants of the mast's own cases, each changed at random."""
    draw = np.random.default_rng(seed)
    lines = [c.strength_line for c in result.cases if c.strength_line is not None]
    own = [np.column_stack([np.interp(result.z, ln.z, r) for r in ln.resultants.T]) for ln in lines]
    own = [np.abs(own).max() * 1e-3 + o for o in own]  # so that every action acts
    return [own[k % len(own)] * draw.normal(size=7) for k in range(count)]


@pytest.mark.parametrize(
    "name",
    [
        "aluminium-75-wide", "aluminium-75-channels", "carbon-75-wide", "carbon-95-tapered",
        "carbon-75-layup", "metal without strength", "plies without strength", "plies in part", "plies",
    ],
)  # fmt: skip
def test_any_resultants_are_judged_as_the_library_does(script: Scripts, name: str) -> None:
    result = _checked(name)
    sets = _sets(result, 7, 40)
    given = {"mast": _mast(result), "sets": [r.ravel().tolist() for r in sets]}
    for resultants, found in zip(sets, script.run(JUDGE, given), strict=True):
        wanted = _at(result, resultants)
        assert (found["utilisation"] is None) is (wanted.utilisation is None)
        if wanted.utilisation is not None:
            assert found["utilisation"] == pytest.approx(wanted.utilisation, rel=AGREES)
            assert found["alongZ"] == pytest.approx(wanted.along_z, rel=AGREES)
            worst = max(f["utilisation"] or 0 for f in found["findings"])
            assert found["utilisation"] == worst
            named = [f for f in found["findings"] if f["utilisation"] == worst]
            assert {k: found[k] for k in ("station", "criterion", "material", "point")} in [
                {k: f[k] for k in ("station", "criterion", "material", "point")} for f in named
            ]
        assert found["governing"]["vonMises"] == pytest.approx(wanted.von_mises, rel=AGREES)
        assert found["governing"]["material"] == wanted.material
        _agree_findings(found["findings"], wanted.findings)


def test_what_is_not_judged_is_not_told_a_utilisation() -> None:
    """The masts above without strengths are what they are said to be."""
    for name in ("metal without strength", "plies without strength"):
        assert _at(_checked(name), _sets(_checked(name), 1, 1)[0]).utilisation is None
    part = _at(_checked("plies in part"), _sets(_checked("plies in part"), 1, 1)[0])
    assert part.utilisation is not None
    assert any(f.utilisation is None and f.criterion == "greatest ply strain" for f in part.findings)


@pytest.mark.parametrize("name", ["carbon-75-layup", "plies in part", "aluminium-75-wide"])
def test_words_say_place_ply_and_face_as_the_library_does(script: Scripts, name: str) -> None:
    """But for the side: of two places that use alike either may be named."""
    result = _checked(name)
    sets = _sets(result, 11, 6)
    given = {"mast": _mast(result), "sets": [r.ravel().tolist() for r in sets]}
    for resultants, found in zip(sets, script.run(JUDGE, given), strict=True):
        words = [f["where"].replace("starboard", "port") for f in found["findings"]]
        wanted = [f.where.replace("starboard", "port") for f in _at(result, resultants).findings]
        assert words == wanted


PICTURE = """
const station = given.mast.strength.at.length - 1;
const field = fieldAt(given.mast, station, given.resultants);
return { ...field, one: fieldAt(given.mast, station, given.resultants.slice(7 * station)).greatest };
"""


@pytest.mark.parametrize("name", ["aluminium-75-wide", "carbon-75-layup", "plies in part"])
def test_the_picture_shows_the_stress_of_the_whole_section(script: Scripts, name: str) -> None:
    result = _checked(name)
    section, resultants = result.sections[-1], _sets(result, 3, 1)[0]
    stress = station_stress(section, resultants[-1])
    area = sum(r.polygon.area for r in section.regions)
    for data in list(strength_levels(result))[:3]:
        grain = GRAINS[cast("int", data["grain"])]
        assert grain is not None
        field = script.run(
            PICTURE, {"mast": {"strength": data}, "resultants": resultants.ravel().tolist()}
        )
        points = np.array(field["points"]).reshape(-1, 2)
        triangles = np.array(field["triangles"]).reshape(-1, 3)
        a, b, c = (points[triangles[:, k]] for k in range(3))
        signed = np.linalg.det(np.stack([b - a, c - a], axis=1)) / 2
        assert np.abs(signed).sum() == pytest.approx(area, rel=2e-3)
        shown = stress.utilisation if field["by"] == "utilisation" else stress.von_mises
        value = np.array(field["value"], dtype=float)
        _nearest(section, points, value, shown, triangles, 0.01 if grain.size == 1 else 1e-4)
        assert field["greatest"] == pytest.approx(np.nanmax(value))
        assert field["one"] == field["greatest"]
        edges = np.array(field["edges"]).reshape(-1, 2)
        sides = np.linalg.norm(points[edges[:, 0]] - points[edges[:, 1]], axis=1).sum()
        outlines = sum(r.polygon.length for r in section.regions)
        assert sides == pytest.approx(outlines, rel=0.02)


def _nearest(
    section: Any, points: FloatArray, value: FloatArray, shown: FloatArray, used: Any, slack: float
) -> None:
    """Every point drawn has the value of a mesh point of its place."""
    materials = list(by_material(section))
    owner = np.zeros(len(shown), dtype=int)
    for i, (_, at) in enumerate(materials):
        owner[at] = i
    most = np.nanmax(shown)
    for k in np.unique(used):
        near = np.linalg.norm(section.basis.points - points[k], axis=1)
        here = shown[near < 3e-6]
        assert len(here)
        if np.isnan(value[k]):
            assert np.isnan(here).any()
        else:
            assert np.nanmin(np.abs(here - value[k])) <= slack * most


def test_a_page_without_room_has_no_picture(script: Scripts) -> None:
    result = _checked("aluminium-75-wide")
    leanest = list(strength_levels(result))[-1]
    resultants = _sets(result, 3, 1)[0].ravel().tolist()
    body = "return fieldAt(given.mast, 0, given.resultants);"
    assert script.run(body, {"mast": {"strength": leanest}, "resultants": resultants}) is None


def _agree_drag(found: dict[str, Any], job: Job, speed: float) -> None:
    level = waterline(job.mast, job.wet)
    water = replace(water_of(job.conditions), density=job.water_density)
    drag = mast_drag(
        job.mast,
        level=level,
        speeds=np.array([speed]),
        water=water,
        roughness=job.conditions.roughness,
        fuselage_width=job.conditions.fuselage_width,
    )
    for name in ("total", "friction", "profile", "spray", "junction", "base", "low", "high"):
        assert found[name] == pytest.approx(float(getattr(drag, name)[0]), rel=AGREES, abs=1e-12), name
    area = wet_area(job.mast, wet_part(job.mast, level))
    assert found["area"] == pytest.approx(area.side, rel=1e-9)
    assert found["depth"] == pytest.approx(area.depth, abs=1e-9)
    assert found["centre"] == (None if area.centre is None else pytest.approx(area.centre, rel=1e-9))
    boils = drag.cavitation_speed
    assert found["boils"] == (None if np.isinf(boils) else pytest.approx(boils, rel=1e-9))


DRAG = "return given.choices.map((choice) => dragOf(given.mast, choice));"


def _shapes(job: Job) -> list[Job]:
    """Tails that bend along the mast, end sharp, or change their kind; rough blades."""
    mast, conditions = job.mast, job.conditions
    ellipse = replace(mast.section, outline=OutlineKind.ELLIPSE, trailing_edge_radius=0.0)
    first, last = mast.stations[0], mast.stations[-1]
    ruled = (
        replace(first, outline=OutlineKind.ELLIPSE),
        replace(last, outline=OutlineKind.NACA_4_DIGIT),
    )
    return [
        replace(job, mast=replace(mast, section=ellipse)),
        replace(job, mast=replace(mast, stations=ruled)),
        replace(job, conditions=replace(conditions, roughness=60e-6, temperature=4.0)),
        replace(job, wet_fraction=0.0),
        replace(job, wet_fraction=1.0),
    ]


def test_drag_of_any_tail_and_surface_agrees(script: Scripts) -> None:
    draw = np.random.default_rng(8)
    for job in _shapes(_checked("aluminium-75-tapered").job):
        data = drag_data(cast("MastResult", SimpleNamespace(job=job)))
        choices: list[dict[str, Any]] = []
        for k in range(POSITIONS):
            length, speed = float(job.mast.length * draw.uniform(0.5, 1.3)), float(draw.uniform(1, 15))
            height = None if k % 3 == 0 else float(length * draw.uniform(-0.1, 1.1))
            choices.append({"length": length, "rideHeight": height, "speed": speed})
        found = script.run(DRAG, {"mast": {"drag": data}, "choices": choices})
        for choice, here in zip(choices, found, strict=True):
            at = replace(job, mast=job.mast.with_length(choice["length"]))
            if choice["rideHeight"] is not None:
                at = replace(at, conditions=replace(at.conditions, ride_height=choice["rideHeight"]))
            _agree_drag(here, at, choice["speed"])
