"""What a search may change of a mast, and the mast changed so.

A setting is one number for the whole mast: ``wall = 3 mm`` makes the thickest wall 3 mm and all others
in proportion, so that a mast keeps its character while it grows. Changing the base or the tip alone
leaves the other end as it is; what lies between moves in proportion to its place.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import degrees

from mastcheck.errors import MastcheckError
from mastcheck.job import Job
from mastcheck.laminate import Laminate, Ply
from mastcheck.mast import Mast, SkinPly, Station, Wall, Zone
from mastcheck.material import laminate_material
from mastcheck.units import Dimension


class DesignError(MastcheckError):
    """A setting that this mast cannot take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A kind of change: its dimension, what changes in words, the value a job has, and the job changed.

    ``current`` gives None where the mast has nothing of the kind: "this mast has no" ``words``.
    """

    dimension: Dimension
    words: str
    current: Callable[[Job], float | None]
    changed: Callable[[Job, float], Job]


@dataclass(frozen=True, slots=True, kw_only=True)
class Variable:
    """A key and the values [SI] it is to take."""

    key: str
    values: tuple[float, ...]


def varied(job: Job, settings: Mapping[str, float]) -> Job:
    """The job with settings [SI] made, length last so that nothing else depends on their order.

    Raises: DesignError naming a setting that is unknown, not positive, or that this mast has not.
    """
    for name in sorted(settings, key=lambda n: (n in _WHOLE, n not in _SCALED, n)):
        value = settings[name]
        kind = key_of(name)
        if kind.current(job) is None:
            raise DesignError(f"{name}: this mast has no {kind.words}")
        if not value > 0 and kind.dimension is not Dimension.ANGLE:
            raise DesignError(f"{name}: must be more than nothing, and is {value:g}")
        job = kind.changed(job, value)
    _buildable(job.mast)
    height = job.conditions.ride_height
    if height is not None and height >= job.mast.length:
        raise DesignError(
            f"length: {job.mast.length * 1e3:.4g} mm is no more than the ride height of"
            f" {height * 1e3:.4g} mm, so that the whole mast is out of the water"
        )
    return job


def key_of(name: str) -> Key:
    """The kind of change of a name; plies are counted from the outside, from 1.

    Raises: DesignError for a name that is none, with the nearest that is.
    """
    if name in KEYS:
        return KEYS[name]
    words = name.split("_")
    if len(words) == 3 and words[0] == "ply" and words[1].isdecimal() and words[1] != "0":
        number = int(words[1]) - 1
        if words[2] == "thickness":
            return _ply_thickness(number)
        if words[2] == "angle":
            return _ply_angle(number)
    from difflib import get_close_matches

    near = get_close_matches(name, [*KEYS, "ply_1_thickness", "ply_1_angle"], n=1)
    remedy = (
        f"; did you mean {near[0]}?"
        if near
        else f"; known are {', '.join(KEYS)}, ply_N_thickness, ply_N_angle"
    )
    raise DesignError(f"{name} is nothing that can be varied{remedy}")


def _buildable(mast: Mast) -> None:
    """Refuse sizes that no section can be made from, before the section floor finds words for it."""
    for s in mast.stations:
        where = f"at {s.at:g} of the length"
        if s.thickness > s.chord:
            raise DesignError(
                f"{where} the blade is thicker ({s.thickness * 1e3:.4g} mm)"
                f" than wide ({s.chord * 1e3:.4g} mm)"
            )
        wall = s.wall.greatest if isinstance(s.wall, Wall) else s.wall
        if wall is not None and wall >= s.thickness / 2:
            raise DesignError(
                f"{where} walls of {wall * 1e3:.4g} mm leave no hollow in {s.thickness * 1e3:.4g} mm"
            )


def _stations(mast: Mast, change: Callable[[Station], Station]) -> Mast:
    return replace(mast, stations=tuple(change(s) for s in mast.stations))


def _with_mast(change: Callable[[Mast, float], Mast]) -> Callable[[Job, float], Job]:
    return lambda job, value: replace(job, mast=change(job.mast, value))


def _size(station: Station, name: str) -> float:
    return float(getattr(station, name))


def _greatest(name: str) -> Callable[[Job], float]:
    return lambda job: max(_size(s, name) for s in job.mast.stations)


def _scaled(name: str) -> Callable[[Mast, float], Mast]:
    def change(mast: Mast, value: float) -> Mast:
        by = value / max(_size(s, name) for s in mast.stations)
        return _stations(mast, lambda s: _with_size(s, name, _size(s, name) * by))

    return change


def _end(name: str, index: int) -> Callable[[Mast, float], Mast]:
    def change(mast: Mast, value: float) -> Mast:
        more = value - _size(mast.stations[index], name)

        def grown(s: Station) -> Station:
            share = s.at if index else 1 - s.at
            return _with_size(s, name, _size(s, name) + share * more)

        return _stations(mast, grown)

    return change


def _with_size(station: Station, name: str, value: float) -> Station:
    return replace(station, chord=value) if name == "chord" else replace(station, thickness=value)


def _wall_of(station: Station) -> float | None:
    return station.wall.greatest if isinstance(station.wall, Wall) else station.wall


def _wall(job: Job) -> float | None:
    walls = [w for w in map(_wall_of, job.mast.stations) if w is not None]
    return max(walls, default=None)


def _wall_end(index: int) -> Callable[[Job], float | None]:
    return lambda job: _wall_of(job.mast.stations[index])


def _wall_scaled(mast: Mast, value: float) -> Mast:
    by = value / max(w for w in map(_wall_of, mast.stations) if w is not None)
    return _stations(mast, lambda s: _walls_by(s, by))


def _wall_end_changed(index: int) -> Callable[[Mast, float], Mast]:
    def change(mast: Mast, value: float) -> Mast:
        by = value / (_wall_of(mast.stations[index]) or value) - 1

        def grown(s: Station) -> Station:
            return _walls_by(s, 1 + by * (s.at if index else 1 - s.at))

        return _stations(mast, grown)

    return change


def _walls_by(station: Station, by: float) -> Station:
    wall = station.wall
    if isinstance(wall, Wall):
        port, starboard = (tuple((x, t * by) for x, t in side) for side in (wall.port, wall.starboard))
        return replace(station, wall=Wall(port=port, starboard=starboard))
    return station if wall is None else replace(station, wall=wall * by)


def _face_plies(station: Station) -> list[SkinPly]:
    return [p for p in station.plies if Zone.FACES in p.zones and p.thickness > 0]


def _layup(job: Job) -> float | None:
    return sum(p.thickness for p in _face_plies(job.mast.stations[0])) or None


def _layup_scaled(mast: Mast, value: float) -> Mast:
    by = value / sum(p.thickness for p in _face_plies(mast.stations[0]))
    return _with_plies(mast, lambda _, p: replace(p, thickness=p.thickness * by))


def _with_plies(mast: Mast, change: Callable[[int, SkinPly], SkinPly]) -> Mast:
    """The mast with its plies changed, and its skin the homogenised faces of the base again."""
    made = _stations(
        mast, lambda s: replace(s, plies=tuple(change(i, p) for i, p in enumerate(s.plies)))
    )
    recipe = mast.section
    faces = tuple(
        Ply(lamina=p.lamina, angle=p.angle, thickness=p.thickness) for p in _face_plies(made.stations[0])
    )
    skin = laminate_material(recipe.material.name, Laminate(plies=faces, knock_down=recipe.knock_down))
    return replace(made, section=replace(recipe, material=skin))


def _ply(number: int, name: str) -> Callable[[Job], float | None]:
    def current(job: Job) -> float | None:
        plies = job.mast.stations[0].plies
        return float(getattr(plies[number], name)) if number < len(plies) else None

    return current


def _ply_thickness(number: int) -> Key:
    """Thickness of one ply at the base; along the mast in proportion."""

    def change(mast: Mast, value: float) -> Mast:
        now = mast.stations[0].plies[number].thickness
        if now <= 0:
            raise DesignError(f"ply_{number + 1}_thickness: this ply does not reach the base")
        return _with_plies(
            mast, lambda i, p: replace(p, thickness=p.thickness * value / now) if i == number else p
        )

    words = f"ply {number + 1} (they are counted from the outside)"
    return Key(
        dimension=Dimension.LENGTH, words=words, current=_ply(number, "thickness"),
        changed=_with_mast(change),
    )  # fmt: skip


def _ply_angle(number: int) -> Key:
    def change(mast: Mast, value: float) -> Mast:
        return _with_plies(mast, lambda i, p: replace(p, angle=value) if i == number else p)

    words = f"ply {number + 1} (they are counted from the outside)"
    return Key(
        dimension=Dimension.ANGLE, words=words, current=_ply(number, "angle"), changed=_with_mast(change)
    )


def _of_length(
    words: str, current: Callable[[Job], float | None], change: Callable[[Mast, float], Mast]
) -> Key:
    return Key(dimension=Dimension.LENGTH, words=words, current=current, changed=_with_mast(change))


def _end_of(index: int, name: str) -> Callable[[Job], float]:
    return lambda job: _size(job.mast.stations[index], name)


def _end_keys(name: str) -> dict[str, Key]:
    return {
        f"{end}_{name}": _of_length(f"{name} at the {end}", _end_of(index, name), _end(name, index))
        for end, index in (("base", 0), ("tip", -1))
    }


KEYS: dict[str, Key] = {
    "length": _of_length(
        "length",  # stations keep their fractions
        lambda job: job.mast.length,
        lambda mast, value: mast.with_length(value),
    ),
    "rider": Key(
        dimension=Dimension.MASS,
        words="rider",
        current=lambda job: job.rider.mass,
        changed=lambda job, value: replace(job, rider=replace(job.rider, mass=value)),
    ),
    # The greatest one; all others in proportion.
    "chord": _of_length("chord", _greatest("chord"), _scaled("chord")),
    **_end_keys("chord"),
    "thickness": _of_length("thickness", _greatest("thickness"), _scaled("thickness")),
    **_end_keys("thickness"),
    # The greatest wall; all others in proportion.
    "wall": _of_length("wall", _wall, _wall_scaled),
    "base_wall": _of_length("wall at the base", _wall_end(0), _wall_end_changed(0)),
    "tip_wall": _of_length("wall at the tip", _wall_end(-1), _wall_end_changed(-1)),
    # The thickness of the faces' plies at the base; all plies in proportion.
    "layup": _of_length("plies in its faces", _layup, _layup_scaled),
}
"""Everything that may be varied, beside ``ply_N_thickness`` and ``ply_N_angle``."""

_SCALED = {"chord", "thickness", "wall", "layup"}
_WHOLE = {"length", "rider"}


def shown(name: str, value: float) -> str:
    """A setting as a person writes it.

    >>> shown("wall", 0.0025), shown("rider", 80.0)
    ('2.5 mm', '80 kg')
    """
    match key_of(name).dimension:
        case Dimension.LENGTH:
            return f"{value * 1e3:.6g} mm"
        case Dimension.MASS:
            return f"{value:.6g} kg"
        case _:
            return f"{degrees(value):.6g} deg"
