"""Two sections that differ in anything have two keys; what is the same has one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mastcheck.drawn import Coordinates, Drawing, DrawnLoop
from mastcheck.mast import (
    Channel,
    Construction,
    ModifiedNaca,
    OutlineKind,
    SkinPly,
    Station,
    Wall,
    Web,
    Zone,
)
from mastcheck.material import Material
from mastcheck.section import identity, likeness
from mastcheck.section.identity import digest
from tests.kept import ALL, LINER, METAL, mast


def test_the_code_version_follows_the_code(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = Path(identity.__file__).parent.parent
    copy = tmp_path / "mastcheck"
    for name in identity._CODE:
        for source in package.glob(name):
            there = copy / source.relative_to(package)
            there.parent.mkdir(parents=True, exist_ok=True)
            there.write_bytes(source.read_bytes())
    monkeypatch.setattr(identity, "__file__", str(copy / "section" / "identity.py"))
    fresh = identity.code_version.__wrapped__
    assert fresh() == identity.code_version()
    changed = copy / "section" / "voids.py"
    changed.write_text(changed.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    assert fresh() not in (None, identity.code_version())
    for source in (copy / "section").glob("*.py"):
        source.unlink()
    for name in identity._CODE[:-1]:
        (copy / name).unlink()
    assert fresh() is None


def _station(**changes: object):
    return lambda m, k: replace(
        m,
        stations=tuple(replace(s, **{n: f(s, k) for n, f in changes.items()}) for s in m.stations),  # type: ignore[operator]
    )


def _recipe(**changes: object):
    return lambda m, k: replace(
        m,
        section=replace(m.section, **{n: f(m.section, k) for n, f in changes.items()}),  # type: ignore[operator]
    )


def _core(name: str):
    return _recipe(core=lambda r, k: replace(r.core, **{name: getattr(r.core, name) * k}))


def _ply(name: str):
    return _station(
        plies=lambda s, k: (
            replace(s.plies[0], **{name: (getattr(s.plies[0], name) or 0.2) * k}),
            *s.plies[1:],
        )
    )


def _lamina(name: str):
    def change(s: Station, k: float) -> tuple[SkinPly, ...]:
        first = s.plies[0]
        lamina = replace(first.lamina, **{name: getattr(first.lamina, name) * k})
        return (replace(first, lamina=lamina), *s.plies[1:])

    return _station(plies=change)


CHANGES = {
    "thickness": ("solid", _station(thickness=lambda s, k: s.thickness * k)),
    "chord": ("solid", _station(chord=lambda s, k: s.chord * k)),
    "wall": ("hollow", _station(wall=lambda s, k: s.wall * k)),
    "wall of one face": (
        "hollow",
        _station(wall=lambda s, k: Wall(port=((0.5, s.wall * k),), starboard=((0.5, s.wall),))),
    ),
    "outline": ("solid", _recipe(outline=lambda _, k: ModifiedNaca(greatest_at=0.3 * k))),
    "nose index": ("solid", _recipe(outline=lambda _, k: ModifiedNaca(nose_index=6 * k))),
    "outline kind": ("solid", _recipe(outline=lambda _, __: OutlineKind.LENS)),
    "construction": ("solid", _recipe(construction=lambda _, __: Construction.HOLLOW)),
    "tail radius": ("solid", _recipe(trailing_edge_radius=lambda _, k: 0.001 * k)),
    "square tail": ("solid", _recipe(trailing_edge_thickness=lambda _, k: 0.001 * k)),
    "web": ("hollow", _recipe(webs=lambda _, k: (Web(at=0.3 * k, thickness=0.002),))),
    "web thickness": ("hollow", _recipe(webs=lambda _, k: (Web(at=0.3, thickness=0.002 * k),))),
    "web lean": ("hollow", _recipe(webs=lambda _, k: (Web(at=0.3, thickness=0.002, lean=0.1 * k),))),
    "channel": ("solid", _recipe(channels=lambda _, k: (Channel(at=0.3 * k, bore=0.004),))),
    "bore": ("solid", _recipe(channels=lambda _, k: (Channel(at=0.3, bore=0.004 * k),))),
    "boss": ("hollow", _recipe(channels=lambda _, k: (Channel(at=0.3, bore=0.004, boss=0.008 * k),))),
    "offset": (
        "solid", _recipe(channels=lambda _, k: (Channel(at=0.3, bore=0.004, offset=0.001 * k),))
    ),
    "liner": (
        "solid",
        _recipe(
            channels=lambda _, k: (
                Channel(at=0.3, bore=0.004, boss=0.008, material=replace(LINER, E=LINER.E * k)),
            )
        ),
    ),
    "nose solid": ("hollow", _recipe(nose_solid_to=lambda _, k: 0.1 * k)),
    "tail solid": ("hollow", _recipe(tail_solid_from=lambda _, k: 0.7 * k)),
    "nose zone": ("laminated", _recipe(nose_to=lambda r, k: r.nose_to * k)),
    "tail zone": ("laminated", _recipe(tail_from=lambda r, k: r.tail_from * k)),
    "core E": ("shell-and-core", _core("E")),
    "core G": ("shell-and-core", _core("G")),
    "core density": ("shell-and-core", _core("density")),
    "ply angle": ("laminated", _ply("angle")),
    "ply thickness": ("laminated", _ply("thickness")),
    "ply zones": (
        "laminated",
        _station(plies=lambda s, _: (replace(s.plies[0], zones=tuple(Zone)), *s.plies[1:])),
    ),
    **{f"ply {name}": ("laminated", _lamina(name)) for name in ("E1", "E2", "G12", "nu12", "density")},
    "stacking line": ("solid", lambda m, k: replace(m, taper_about=0.4 * k)),
}  # fmt: skip


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    name=st.sampled_from(sorted(CHANGES)),
    k=st.floats(1.0001, 1.2),
    at=st.sampled_from((0.0, 0.3, 1.0)),
    end=st.booleans(),
)
def test_one_thing_changed_is_another_section(name: str, k: float, at: float, end: bool) -> None:
    construction, change = CHANGES[name]
    made = mast(construction)
    one = likeness.likeness(made, at, end=end)
    other = likeness.likeness(change(made, k), at, end=end)
    assert one.key() != other.key(), name
    assert one.key() == likeness.likeness(mast(construction), at, end=end).key()
    assert one.key() != likeness.likeness(made, at, end=not end).key()


@pytest.mark.parametrize("construction", ALL)
def test_another_slope_is_another_section_where_it_is_asked_for(construction: str) -> None:
    steep, flat = mast(construction, ratio=0.6), mast(construction, ratio=0.6)
    base, tip = flat.stations
    flat = replace(flat, stations=(base, replace(tip, thickness=0.9 * base.thickness)))
    asked, plain = (
        [likeness.likeness(m, 0.0, taper=taper).key() for m in (steep, flat)] for taper in (True, False)
    )
    assert asked[0] != asked[1]
    assert plain[0] == plain[1]


def test_a_drawing_counts_by_its_content() -> None:
    square = np.array([[0.0, -0.01], [0.1, -0.01], [0.1, 0.01], [0.0, 0.01]])

    def of(points: np.ndarray, fill: Material) -> str:
        loop = DrawnLoop(points=points, parent=None, fill=fill)
        outline = Drawing(loops=(loop,), chord=0.1, thickness=0.02)
        return likeness.likeness(mast("drawn", outline=outline), 0.5).key()

    assert of(square, METAL) == of(square.copy(), METAL)
    assert of(square, METAL) != of(square * 1.000001, METAL)
    assert of(square, METAL) != of(square, replace(METAL, E=METAL.E * 1.01))
    points = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 0.0], [0.5, -0.5]])
    one, other = (
        likeness.likeness(mast("solid", outline=Coordinates(points=p)), 0.5).key()
        for p in (points, points * (1.0, 1.001))
    )
    assert one != other


@given(st.lists(st.one_of(st.floats(allow_nan=False), st.text(), st.none(), st.booleans(), st.integers(),
                          st.binary(), st.tuples(st.text(), st.text())), max_size=4),
       st.lists(st.one_of(st.floats(allow_nan=False), st.text(), st.none(), st.booleans(), st.integers(),
                          st.binary(), st.tuples(st.text(), st.text())), max_size=4))  # fmt: skip
def test_hashes_tell_contents_apart(a: list[object], b: list[object]) -> None:
    same = [type(x) for x in a] == [type(x) for x in b] and a == b
    assert (digest(*a) == digest(*b)) is same


def test_hashes_refuse_what_has_no_content() -> None:
    with pytest.raises(TypeError, match="no stated content"):
        digest(object())
    assert digest(OutlineKind.LENS) != digest("lens")
    assert digest(np.zeros(2)) != digest(np.zeros((2, 1)))
