"""What the page is given to judge strength by holds all that can govern, and keeps to its room."""

from __future__ import annotations

import base64
import json
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mastcheck.checks.result import MastResult
from mastcheck.checks.run import check
from mastcheck.files.mastfile import load
from mastcheck.material import Material
from mastcheck.page.blocks import packed, stepped
from mastcheck.page.strength_data import GRAINS, strength_data, strength_levels
from mastcheck.page.strength_faces import pressed
from mastcheck.page.strength_points import kept_points, unit_sizes
from mastcheck.section.model import StressBasis
from mastcheck.strength.faces import faces
from mastcheck.strength.plies import material_plies
from mastcheck.strength.stress import by_material
from tests.kept import PROFILES

FloatArray = NDArray[np.float64]

DRAWS, BATCH = 2000, 250


@lru_cache
def _checked(name: str) -> MastResult:
    return check(load(PROFILES / f"{name}.toml"))


def _drawn(rng: np.random.Generator, basis: StressBasis) -> FloatArray:
    """Resultants (BATCH, 7): all acting alike, sizes over three decades, or only some acting."""
    even = rng.standard_normal((BATCH, 7))
    spread = even * 10 ** rng.uniform(-3, 0, even.shape)
    few = np.where(rng.random(even.shape) < 0.35, even, 0.0)
    few[:, rng.integers(7)] += 1e-3
    which = rng.integers(3, size=(BATCH, 1))
    mixed = np.where(which == 0, even, np.where(which == 1, spread, few))
    return np.asarray(mixed / unit_sizes(basis))


def _measures(material: Material, stress: FloatArray) -> list[FloatArray]:
    """What a material's criteria look at, (m, p) each, of stresses (m, p, 3)."""
    m, p, _ = stress.shape
    if material.laminate is not None:
        plies = material_plies(material, stress.reshape(-1, 3))
        return [
            np.max([getattr(ply, name) for ply in plies], axis=0).reshape(m, p)
            for name in ("max_strain", "tsai_wu")
        ]
    shear = np.hypot(stress[..., 1], stress[..., 2])
    if material.shear_strength is not None:
        return [shear]
    return [np.sqrt(stress[..., 0] ** 2 + 3 * shear**2)]


@pytest.mark.parametrize(
    "name",
    [
        "aluminium-75-wide", "aluminium-75-three-joints", "aluminium-75-channels", "carbon-95-tapered",
        "carbon-75-wide",
    ],
)  # fmt: skip
def test_the_worst_of_the_points_kept_is_the_worst_of_all(name: str) -> None:
    _hold(_checked(name), DRAWS)


def test_the_worst_ply_is_among_the_points_kept() -> None:
    _hold(_checked("carbon-75-layup"), 500)


def _hold(result: MastResult, draws: int) -> None:
    rng = np.random.default_rng(1)
    for section in {id(s): s for s in result.sections[::2]}.values():
        kept = kept_points(section)
        assert len(kept) < len(section.basis.points)
        for material, at in by_material(section):
            fields, here = section.basis.fields[:, at], np.isin(at, kept)
            for _ in range(draws // BATCH):
                stress = np.einsum("mk,kps->mps", _drawn(rng, section.basis), fields)
                for used in _measures(material, stress):
                    most = used.max(axis=1)
                    assert (used[:, here].max(axis=1) >= most * (1 - 1e-6)).all()


@pytest.mark.parametrize("name", ["aluminium-75-wide", "aluminium-75-channels", "carbon-75-layup"])
def test_the_greatest_compression_of_a_face_is_held(name: str) -> None:
    rng = np.random.default_rng(2)
    for section in _checked(name).sections[:2]:
        basis = section.basis
        found = faces(section)
        assert found
        for face in found:
            places, points = pressed(basis, face)
            assert (basis.points[points[points >= 0]] == places[points >= 0, :2]).all()
            assert len(places) < len(face.points)
            (material, at) = next((m, at) for m, at in by_material(section) if m is face.material)
            shape = np.column_stack([np.ones(len(at)), basis.points[at]])
            bent = np.linalg.lstsq(shape, basis.fields[[0, 3, 4]][:, at, 0].T, rcond=None)[0]
            assert material.name == face.material.name
            for resultants in _drawn(rng, basis)[:100]:
                sigma = np.einsum("kp,k->p", basis.fields[:, :, 0], resultants)
                least, where = face.most_pressed(basis.points, sigma)
                shaped = np.column_stack([np.ones(len(places)), places[:, :2]]) @ bent
                held = shaped @ resultants[[0, 3, 4]] + places[:, 2] * resultants[6]
                size = np.abs(sigma).max()
                assert held.min() == pytest.approx(least, abs=1e-9 * size)
                if np.sort(held)[1] - held.min() > 1e-6 * size:
                    assert places[held.argmin(), :2] == pytest.approx(where, abs=1e-12)


def _bytes(data: dict[str, Any]) -> int:
    return len(json.dumps(data, separators=(",", ":"), allow_nan=False))


def test_with_less_room_only_the_picture_is_coarser() -> None:
    result = _checked("carbon-75-wide")
    levels: list[Any] = list(strength_levels(result))
    assert [data["grain"] for data in levels] == list(range(len(GRAINS)))
    sizes = [_bytes(data) for data in levels]
    assert sizes == sorted(set(sizes), reverse=True)
    for data in levels:
        for part, full in zip(data["sections"], levels[0]["sections"], strict=True):
            assert {**part, "picture": None} == {**full, "picture": None}
    assert strength_data(result, sizes[1])["grain"] == 1
    with pytest.raises(ValueError, match="room for"):
        strength_data(result, sizes[-1] - 1)


def test_five_aluminium_masts_or_two_of_any_kind_find_room_with_pictures() -> None:
    for name in ("aluminium-75-wide", "carbon-75-layup", "carbon-75-wide"):
        share = 240_000 if name.startswith("aluminium") else 590_000
        data: Any = strength_data(_checked(name), share)
        assert data["sections"][0]["picture"] is not None, name
        assert _bytes(data) <= share


def test_stations_of_one_section_share_its_data() -> None:
    data: Any = strength_data(_checked("aluminium-75-channels"), 10**9)
    assert len(data["sections"]) == 1
    assert set(data["at"]) == {0}
    assert len(data["at"]) == len(_checked("aluminium-75-channels").z)


@pytest.mark.parametrize("size", [1, 2, 3])
def test_steps_hold_a_column_to_half_a_step(size: int) -> None:
    rng = np.random.default_rng(3)
    values = np.column_stack([rng.normal(size=101), 1e6 * rng.random(101), np.full(101, -0.25)])
    block: Any = stepped(values, size)
    raw = base64.b64decode(block["steps"]["u16"])
    assert len(raw) == 2 * block["steps"]["shape"][0]
    each = np.frombuffer(raw, dtype=np.uint8)[: values.size * size].reshape(-1, size)
    whole = (each * 256 ** np.arange(size)).sum(axis=1).reshape(values.shape)
    low, step = np.array(block["scale"]).T
    assert (np.abs(low + step * whole - values) <= 0.501 * step).all()
    assert block["rows"] == 101
    reach = np.ptp(values, axis=0)[:2] / (256**size - 1)
    assert step[:2] == pytest.approx(reach)


def test_a_table_without_rows_has_no_steps() -> None:
    block: Any = stepped(np.zeros((0, 2)), 3)
    assert (block["rows"], block["steps"]["u16"]) == (0, "")


def test_whole_numbers_that_do_not_fit_are_refused() -> None:
    with pytest.raises(ValueError, match="does not fit u16"):
        packed(np.array([65536]), "u16")


@pytest.mark.parametrize(("action", "axis"), [(3, 0), (3, 1), (1, 0)])
def test_stress_that_the_page_could_not_show_is_refused(action: int, axis: int) -> None:
    result = _checked("aluminium-75-channels")
    section = result.sections[0]
    fields = section.basis.fields.copy()
    fields[action, 5, axis] += np.abs(fields[action]).max()
    wrong = replace(section, basis=replace(section.basis, fields=fields))
    with pytest.raises(ValueError, match=r"linear|another"):
        strength_data(replace(result, sections=(wrong,) * len(result.sections)), 10**9)
