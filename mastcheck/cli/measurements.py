"""The options of ``mastcheck new --measured``, read into SI with every fault named at once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from cyclopts import Parameter

from mastcheck.cli.options import Quantity
from mastcheck.cli.show import Units
from mastcheck.errors import Problem
from mastcheck.units import Dimension, UnitError, parse, shown

if TYPE_CHECKING:
    from mastcheck.mast import Mast, Station
    from mastcheck.material import Material

STATION_FORM = '"0 mm: 150 mm x 18 mm"'
_STATION = re.compile(r"\s*(?:at\s+)?(.+?)\s*:\s*(.+?)\s*[xX×]\s*(.+?)\s*", re.DOTALL)
_NUMBER = re.compile(r"[0-9]*\.?[0-9]+|[0-9]+\.")
_ENDS = {"base": 0.0, "tip": 1.0}

# Bounds [m], as those of the mast file.
LENGTHS, CHORDS, THICKNESSES, RADII = (0.05, 10.0), (0.01, 1.0), (1e-3, 1.0), (0.0, 0.1)
_MASSES = (0.01, 100.0)  # kg
_SNAP = 1e-4  # m: a place this near an end, after a change of units, is the end
_APART = 1e-3  # of the length, as for mast.station


_Outline = Literal[
    "naca-4-digit",
    "ellipse",
    "lens",
    "slab",
]
"""The built-in outlines (``mast.OutlineKind``, which is not imported for the help's sake)."""


@Parameter(name="*", group="With --measured")
@dataclass(frozen=True, kw_only=True)
class Measurements:
    """What was measured and is known of a mast, as it stands on the command line."""

    length: Quantity = None
    """Underside of the base plate to the top of the fuselage, with its unit: "750 mm"."""

    mass: Quantity = None
    """Mass on the scale: "1.42 kg"."""

    station: Annotated[
        tuple[str, ...], Parameter(negative=(), consume_multiple=False, show_default=False)
    ] = ()
    """Place from the base, chord and thickness: "0 mm: 150 mm x 18 mm". Repeat, both ends included."""

    material: str | None = None
    """Material of the wall: "EN AW-6082-T6"."""

    construction: Literal["hollow", "shell-and-core", "solid"] | None = None
    """How the outline is filled. For solid the mass is only compared."""

    core: str | None = None
    """Core of shell-and-core: "PVC foam 80"."""

    outline: _Outline | None = None
    """Outline; naca-4-digit is assumed where it is left out."""

    trailing_edge_radius: Quantity = None
    """Radius of the trailing edge; sharp where it is left out."""

    fittings: Quantity = None
    """Mass of plate and screws weighed with the blade, to be taken off: "120 g"."""

    name: str | None = None
    """Name of the mast; the file's own where it is left out."""

    measuring_error: Quantity = None
    """Error of chord, thickness and length; 1 mm where it is left out."""

    scale_error: Quantity = None
    """Error of the mass; 10 g where it is left out."""

    units: Units | None = None
    """Units of the printed tables; metric where it is left out."""


@dataclass(frozen=True, kw_only=True)
class ReadMeasurements:
    """The measurements in SI units: the mast without its wall, and the mass of the blade alone."""

    mast: Mast
    mass: float
    size_error: float
    mass_error: float


def flag(name: str) -> str:
    """The option of a field, as it is typed."""
    return "--" + name.replace("_", "-")


def read_measurements(
    path: Path, given: Measurements, problems: list[Problem]
) -> ReadMeasurements | None:
    """The measurements in SI, or None with every fault noted in ``problems``."""
    from mastcheck.checks.measured import MASS_ERROR, SIZE_ERROR
    from mastcheck.mast import Construction, Mast, OutlineKind, SectionRecipe

    problems += _missing(given)
    length = _quantity("length", given.length, Dimension.LENGTH, LENGTHS, problems)
    mass = _quantity("mass", given.mass, Dimension.MASS, _MASSES, problems)
    fittings = _quantity("fittings", given.fittings, Dimension.MASS, (0.0, _MASSES[1]), problems)
    radius = _quantity(
        "trailing_edge_radius", given.trailing_edge_radius, Dimension.LENGTH, RADII, problems
    )
    size_error = _quantity(
        "measuring_error", given.measuring_error, Dimension.LENGTH, (0.0, 0.1), problems
    )
    mass_error = _quantity("scale_error", given.scale_error, Dimension.MASS, (0.0, 10.0), problems)
    stations = _stations(given, length, problems)
    material = _material("material", given.material, problems)
    core = _material("core", given.core, problems)
    problems += _filling(given, material, core)
    name = path.stem if given.name is None else given.name
    if not (name.strip() and name.isprintable() and len(name) <= 80):
        if given.name is None:
            name = "measured mast"
        else:
            rule = "must be one line of 1 to 80 printable characters"
            problems.append(Problem(key="--name", found=shown(name), rule=rule, remedy="shorten it"))
    size_error = SIZE_ERROR if size_error is None else size_error
    mass_error = MASS_ERROR if mass_error is None else mass_error
    problems += _proportions(stations, size_error, radius or 0.0)
    net = None if mass is None else mass - (fittings or 0.0)
    if net is not None:
        problems += _net_mass(given, net, mass_error)
    if problems or length is None or net is None or material is None or given.construction is None:
        return None
    mast = Mast(
        name=name,
        length=length,
        stations=stations,
        section=SectionRecipe(
            outline=OutlineKind(given.outline or "naca-4-digit"),
            construction=Construction(given.construction),
            material=material,
            core=core,
            trailing_edge_radius=radius or 0.0,
        ),
    )
    return ReadMeasurements(mast=mast, mass=net, size_error=size_error, mass_error=mass_error)


def _missing(given: Measurements) -> Iterator[Problem]:
    """Every option that --measured cannot do without."""
    for name, example in (
        ("length", '--length "750 mm"'),
        ("mass", '--mass "1.42 kg"'),
        ("material", '--material "EN AW-6082-T6"'),
        ("construction", "--construction hollow (or shell-and-core, solid)"),
    ):
        if getattr(given, name) is None:
            yield Problem(
                key=flag(name), found="", rule="is needed with --measured", remedy=f"add {example}"
            )
    if len(given.station) < 2:
        count = f"{len(given.station)} given" if given.station else ""
        remedy = f"add --station {STATION_FORM} for the base, another for the tip, and any between"
        rule = "two or more are needed with --measured"
        yield Problem(key="--station", found=count, rule=rule, remedy=remedy)


def _quantity(
    name: str,
    text: str | None,
    dimension: Dimension,
    bounds: tuple[float, float],
    problems: list[Problem],
) -> float | None:
    """A quantity in SI within bounds, or None with any fault noted in ``problems``."""
    if text is None:
        return None
    try:
        value = parse(text, dimension)
    except UnitError as error:
        problems.append(Problem(key=flag(name), found=error.found, rule=error.rule, remedy=error.remedy))
        return None
    low, high = bounds
    if not low <= value <= high:
        small, large = ("mm", "m") if dimension is Dimension.LENGTH else ("g", "kg")
        ends = (f"{v:g} {large}" if v >= 10 else f"{1000 * v:g} {small}" for v in (low, high))
        rule = f"must be from {' to '.join(ends)}"
        remedy = "check the number and its unit"
        problems.append(Problem(key=flag(name), found=shown(text), rule=rule, remedy=remedy))
        return None
    return value


def _stations(given: Measurements, length: float | None, problems: list[Problem]) -> tuple[Station, ...]:
    """Stations base to tip, as far as they can be read."""
    from mastcheck.mast import Station

    stations, texts = [], {}
    for text in given.station:
        match = _STATION.fullmatch(text)
        if match is None:
            rule, remedy = "is not a place, a chord and a thickness", f"write it as {STATION_FORM}"
            problems.append(Problem(key="--station", found=shown(text), rule=rule, remedy=remedy))
            continue
        place, *sizes = match.groups()
        faults: list[Problem] = []
        at = _place(place, length, faults)
        chord = _quantity("chord", sizes[0], Dimension.LENGTH, CHORDS, faults)
        thickness = _quantity("thickness", sizes[1], Dimension.LENGTH, THICKNESSES, faults)
        # All of a station's faults carry the option as it was typed.
        problems += [replace(f, key=f"--station {shown(text)}: {f.key.lstrip('-')}") for f in faults]
        if chord is not None and thickness is not None and at is not None:
            station = Station(at=at, chord=chord, thickness=thickness)
            stations.append(station)
            texts[id(station)] = text
    stations.sort(key=lambda s: s.at)
    if len(stations) == len(given.station) >= 2:
        problems += _order(stations, [texts[id(s)] for s in stations])
    return tuple(stations)


def _place(text: str, length: float | None, problems: list[Problem]) -> float | None:
    """A place as a fraction of the length; None where it cannot be told (yet)."""
    if text.lower() in _ENDS:
        return _ENDS[text.lower()]
    if _NUMBER.fullmatch(text) and len(text) < 40:
        if float(text) <= 1:
            return float(text)
        rule = "a bare number is a fraction of the length, from 0 to 1"
        remedy = f'give a distance its unit, such as "{text} mm"'
        problems.append(Problem(key="place", found=shown(text), rule=rule, remedy=remedy))
        return None
    faults: list[Problem] = []
    z = _quantity("place", text, Dimension.LENGTH, (0.0, LENGTHS[1]), faults)
    form = 'write base, tip, a distance such as "375 mm" or a fraction such as "0.5"'
    unread = ("does not start", "unknown unit")
    problems += [replace(f, remedy=form) if f.rule.startswith(unread) else f for f in faults]
    if z is None or length is None:
        return None
    if z > length + _SNAP:
        rule = f"is beyond the length, {1000 * length:g} mm"
        remedy = "measure it from the base, or check --length"
        problems.append(Problem(key="place", found=shown(text), rule=rule, remedy=remedy))
        return None
    return 1.0 if abs(z - length) <= _SNAP else 0.0 if z <= _SNAP else z / length


def _order(stations: list[Station], texts: list[str]) -> Iterator[Problem]:
    """The ends must be among the stations, and no two at one place."""
    for station, text, end, word in (
        (stations[0], texts[0], 0.0, "base"),
        (stations[-1], texts[-1], 1.0, "tip"),
    ):
        if station.at != end:
            rule = f"is the one nearest to the {word}, but not at it"
            remedy = f'measure at the {word} too: --station "{word}: 150 mm x 18 mm"'
            yield Problem(key="--station", found=shown(text), rule=rule, remedy=remedy)
    for (a, _), (b, text) in pairwise(zip(stations, texts, strict=True)):
        if b.at - a.at < _APART:
            rule = "is at the place of another, or within 0.1 % of the length of it"
            yield Problem(key="--station", found=shown(text), rule=rule, remedy="leave one out")


def _material(option: str, name: str | None, problems: list[Problem]) -> Material | None:
    """A shipped material, or None with the fault noted."""
    if name is None:
        return None
    from mastcheck.files.materials import Kind, entries, laminas, library
    from mastcheck.files.problems import nearest

    known = library()
    if name not in known:
        remedy = nearest(name, known, "mastcheck materials lists all names")
        rule = "unknown material"
        if name in laminas():
            rule = "is a single ply, and the wall inferred is of one material"
            laminates = [entry.content.name for entry in entries() if entry.kind is Kind.LAMINATE]
            remedy = "name the laminate nearest to it: " + ", ".join(laminates)
        problems.append(Problem(key=flag(option), found=shown(name), rule=rule, remedy=remedy))
    return known.get(name)


def _filling(given: Measurements, material: Material | None, core: Material | None) -> Iterator[Problem]:
    """A core where there is to be one, and nowhere else."""
    if given.construction == "shell-and-core" and given.core is None:
        remedy = 'add --core "PVC foam 80"'
        yield Problem(key="--core", found="", rule="shell-and-core needs a core", remedy=remedy)
    if given.construction in ("hollow", "solid") and given.core is not None:
        rule, remedy = f"{given.construction} has no core", "leave it out, or use shell-and-core"
        yield Problem(key="--core", found=shown(given.core), rule=rule, remedy=remedy)
    if core is not None and material is not None and core.density >= material.density:
        rule = f"must be lighter than {material.name}, or the mass does not tell the wall"
        yield Problem(key="--core", found=shown(core.name), rule=rule, remedy="check which is which")


def _proportions(stations: tuple[Station, ...], error: float, radius: float) -> Iterator[Problem]:
    """Sizes that stay a section's when they are off by the measuring error."""
    for s in stations:
        sizes = f"{1000 * s.chord:g} mm x {1000 * s.thickness:g} mm"
        if s.thickness >= s.chord:
            rule, remedy = "the thickness must be less than the chord", "check which is which"
            yield Problem(key="--station", found=sizes, rule=rule, remedy=remedy)
        elif error >= s.thickness / 4 or s.thickness + error >= s.chord - error:
            rule = f"is too coarse for a blade of {sizes}: nothing could be said of it"
            remedy = 'measure with calipers, and state their error: --measuring-error "0.1 mm"'
            found = f"{1000 * error:g} mm"
            yield Problem(key="--measuring-error", found=found, rule=rule, remedy=remedy)
        elif radius >= (s.thickness - error) / 2:
            rule = f"must be less than half the thickness of {sizes}, less the measuring error"
            found = f"{1000 * radius:g} mm"
            yield Problem(key="--trailing-edge-radius", found=found, rule=rule, remedy="make it smaller")


def _net_mass(given: Measurements, net: float, error: float) -> Iterator[Problem]:
    if net <= 0:
        rule = f"leaves no mass for the blade: {given.mass} were weighed"
        remedy = "give the mass of the plate and screws that were on the scale"
        yield Problem(key="--fittings", found=shown(given.fittings), rule=rule, remedy=remedy)
    elif error >= net / 4:
        rule = f"is too coarse for a blade of {1000 * net:.4g} g: nothing could be said of its wall"
        remedy = "use a finer scale, and state its error"
        found = f"{1000 * error:g} g"
        yield Problem(key="--scale-error", found=found, rule=rule, remedy=remedy)
