"""A checked mast file as frozen dataclasses in SI units."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from mastcheck.drawn import Coordinates, Drawing
from mastcheck.files import joint_build, water_build
from mastcheck.files.materials import laminas
from mastcheck.files.notes import notes
from mastcheck.files.outline_files import OutlineFiles, refilled
from mastcheck.files.schema import (
    FatigueTable,
    LaminaTable,
    LoadCaseTable,
    MastFile,
    MaterialTable,
    PlyTable,
    SectionTable,
)
from mastcheck.files.tolerance_schema import tolerances
from mastcheck.files.walls import wall_of
from mastcheck.job import Job
from mastcheck.laminate import Lamina, Laminate, Ply
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES, Lift, LoadCase, Rider
from mastcheck.mast import (
    Calibration,
    Channel,
    Mast,
    ModifiedNaca,
    Outline,
    OutlineKind,
    SectionRecipe,
    SkinPly,
    Station,
    Web,
    Zone,
)
from mastcheck.material import Material, laminate_material
from mastcheck.outline import MODIFIED
from mastcheck.source import Grade, Source
from mastcheck.strength.fatigue import CURVE_SOURCE, GAMMA, DetailCurve, Fatigue, category

# Plies without a thickness, each with its thickness [m] at every station.
_Plies = list[tuple[SkinPly, tuple[float, ...]]]


def job(
    model: MastFile,
    files: OutlineFiles,
    materials: Mapping[str, Material],
    *,
    file: str,
    sha256: str,
) -> Job:
    """The job that a checked file describes.

    Args:
        model: the checked file.
        files: the outline files it names.
        materials: the shipped materials and the file's own, the very objects that fill ``files``.
        file: its name as printed.
        sha256: hash of it and its outline files.
    """
    plies = _plies(model)
    knock_down = math.prod((f for _, f in model.section.knock_down if f is not None), start=1.0)
    if model.section.material:
        skin = materials[model.section.material]
    else:
        skin = _face_laminate(plies, knock_down)
        files = refilled(files, skin)
    recipe = replace(_recipe(model.section, files, skin, materials), knock_down=knock_down)
    mast = model.mast
    stations = _stations(model, files, plies)
    joints = joint_build.joints(model, materials, (stations[0].chord, stations[-1].chord), file)
    return Job(
        mast=Mast(
            name=mast.name,
            length=mast.length,
            stations=stations,
            section=recipe,
            taper_about=mast.taper_about,
            tip_warping=mast.tip_warping,
            calibration=Calibration(**model.calibration.model_dump()) if model.calibration else None,
        ),
        rider=Rider(**model.rider.model_dump()),
        cases=_cases(model.load_case),
        limits=tuple(_limits(model)),
        wet_fraction=model.conditions.wet_fraction,
        foil=water_build.foil(model),
        quiver=water_build.quiver(model),
        conditions=water_build.conditions(model),
        water_loads=water_build.water_loads(model),
        price=mast.price,
        speeds=water_build.speeds(model),
        water_density=water_build.density(model),
        divergence_margin=model.limits.divergence_margin,
        edge_radius=model.limits.edge_radius,
        file=file,
        input_sha256=sha256,
        outline_files=files.hashes,
        notes=(*notes(model, files), *joint_build.notes(model, joints)),
        fatigue=_fatigue(model.fatigue),
        joints=joints,
        scatter=tolerances(model.tolerances),
    )


def own_materials(tables: Mapping[str, MaterialTable]) -> dict[str, Material]:
    """The file's own materials [Pa, kg/m³]."""
    return {name: _material(name, table) for name, table in tables.items()}


def _material(name: str, table: MaterialTable) -> Material:
    shear = table.G if table.G is not None else table.E / (2 * (1 + (table.nu or 0.0)))
    plain = table.model_dump(exclude={"G", "nu", "source"})
    return Material(name=name, G=shear, source=Source(title=table.source, grade=Grade.USER), **plain)


def _lamina(name: str, table: LaminaTable) -> Lamina:
    source = Source(title=table.source, grade=Grade.USER)
    return Lamina(name=name, source=source, **table.model_dump(exclude={"source"}))


def _stations(model: MastFile, files: OutlineFiles, plies: _Plies) -> tuple[Station, ...]:
    """Stations with their sizes, as drawn where the file states none."""
    section = model.section
    out = []
    for i, s in enumerate(model.mast.station):
        own = _outline(section, files, s.outline, s.file)
        drawn = own or _outline(section, files, section.outline, section.file)
        chord, thickness = s.chord, s.thickness
        if isinstance(drawn, Drawing) and chord is None and thickness is None:
            chord, thickness = drawn.chord, drawn.thickness
        if chord is None or thickness is None:  # the rules have refused this before
            raise ValueError(f"station {i} has no size")
        out.append(
            Station(
                at=s.at,
                chord=chord,
                thickness=thickness,
                wall=wall_of(dict(s), dict(section)),
                outline=own,
                plies=tuple(replace(ply, thickness=t[i]) for ply, t in plies),
            )
        )
    return tuple(out)


def _outline(
    section: SectionTable, files: OutlineFiles, word: str | None, file: str | None
) -> Outline | None:
    """The outline of a word or a file; None where neither is given."""
    if file is not None:
        found: Coordinates | Drawing = files.by_name[file]
        return found
    if word == MODIFIED:
        return ModifiedNaca(nose_index=section.nose_index, greatest_at=section.greatest_thickness_at)
    return OutlineKind(word) if word is not None else None


def _plies(model: MastFile) -> _Plies:
    """Every ply from the outside in, with its thickness [m] at each station.

    Repeats come before the mirror. Mirroring the whole list mirrors that of each zone, since the
    plies of one zone keep their order.
    """
    section = model.section
    known = {**laminas(), **{name: _lamina(name, t) for name, t in model.lamina.items()}}
    count = len(model.mast.station)
    listed = [ply for table in section.ply for ply in _of_table(table, known, count)]
    listed = listed * section.repeat_plies
    return listed + listed[::-1] if section.symmetric_plies else listed


def _of_table(table: PlyTable, known: Mapping[str, Lamina], stations: int) -> _Plies:
    """The plies that one table stands for."""
    degrees = table.layup
    angles = (table.angle or 0.0,) if degrees is None else tuple(math.radians(d) for d in degrees)
    by_station = table.thickness if isinstance(table.thickness, tuple) else (table.thickness,) * stations
    return [
        (
            SkinPly(lamina=known[table.material], angle=angle, thickness=0.0, zones=table.region),
            by_station,
        )
        for angle in angles * table.count
    ]


def _recipe(
    section: SectionTable, files: OutlineFiles, skin: Material, known: Mapping[str, Material]
) -> SectionRecipe:
    outline = _outline(section, files, section.outline, section.file)
    if outline is None:  # the rules have refused this before
        raise ValueError("the section has no outline")
    return SectionRecipe(
        outline=outline,
        construction=section.construction,
        material=skin,
        core=known[section.core] if section.core else None,
        trailing_edge_radius=section.trailing_edge_radius,
        trailing_edge_thickness=section.trailing_edge_thickness,
        webs=tuple(
            Web(at=w.at, thickness=w.thickness, lean=w.lean)
            for w in sorted(section.webs, key=lambda w: w.at)
        ),
        channels=tuple(
            Channel(
                at=c.at,
                bore=c.bore,
                boss=c.boss or 0.0,
                offset=c.offset,
                material=known[c.material] if c.material else None,
            )
            for c in section.channels
        ),
        nose_solid_to=section.nose_solid_to,
        tail_solid_from=section.tail_solid_from,
        nose_to=section.nose_to,
        tail_from=section.tail_from,
    )


def _face_laminate(plies: _Plies, knock_down: float) -> Material:
    """The faces' plies at the base as one material."""
    faces = tuple(
        Ply(lamina=ply.lamina, angle=ply.angle, thickness=by_station[0])
        for ply, by_station in plies
        if Zone.FACES in ply.zones and by_station[0] > 0
    )
    return laminate_material("laminate of the faces", Laminate(plies=faces, knock_down=knock_down))


def _cases(tables: Sequence[LoadCaseTable]) -> tuple[LoadCase, ...]:
    """The standard cases with the file's own in place of or after them."""
    cases = {case.name: case for case in STANDARD_CASES}
    for table in tables:
        given = {key: getattr(table, key) for key in table.model_fields_set - {"name"}}
        if "lift" in given:
            given["lift"] = Lift(given["lift"])
        if table.name in cases:
            keys = ", ".join(key for key in type(table).model_fields if key in given)
            title = (
                f"{keys or 'nothing'} stated, the rest as recalled" if given else "restated unchanged"
            )
            source = Source(title=title, grade=Grade.USER) if given else cases[table.name].source
            cases[table.name] = replace(cases[table.name], **given, source=source)
        else:
            source = Source(title="load case of the file", grade=Grade.USER)
            cases[table.name] = LoadCase(name=table.name, **given, source=source)
    return tuple(cases.values())


def _limits(model: MastFile) -> Iterator[Limit]:
    """Limits in SI units [m, rad]."""
    for quantity in Quantity:
        for table in getattr(model.limits, quantity):
            yield Limit(quantity=quantity, case=table.case, maximum=table.max)


def _fatigue(table: FatigueTable | None) -> Fatigue | None:
    """Cycles and the curve stated for them, if any."""
    if table is None:
        return None
    curve = None
    gamma, material = table.gamma or GAMMA, table.material or ""
    found = category(table.detail) if table.detail else None
    if found is not None:
        strength, m1 = found
        curve = DetailCurve(
            name=f"detail category {table.detail}", delta_sigma_c=strength, m1=m1, m2=m1 + 2,
            gamma=gamma, source=CURVE_SOURCE, material=material, aluminium_only=not material,
        )  # fmt: skip
    elif table.delta_sigma_c is not None and table.m1 is not None:
        curve = DetailCurve(
            name="curve of the file", delta_sigma_c=table.delta_sigma_c, m1=table.m1,
            m2=table.m1 + 2 if table.m2 is None else table.m2, gamma=gamma,
            source=Source(title=table.source or "", grade=Grade.USER), material=material,
        )  # fmt: skip
    return Fatigue(cycles=tuple(table.cycles.items()), curve=curve, alternating=table.alternating)
