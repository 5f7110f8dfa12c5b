"""Tables of what went in, and of lines along the mast, which a result file does not hold. SI units."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from mastcheck.checks.result import CaseResult, LineResult, MastResult
from mastcheck.laminate import membrane
from mastcheck.mast import Construction, Wall, outline_name
from mastcheck.material import Material
from mastcheck.report.csv_rows import Row
from mastcheck.report.utilisation_figure import case_line
from mastcheck.report.words import isotropic_materials, laminas, made_of
from mastcheck.source import Source

RESULTANTS = ("N_N", "Vx_N", "Vy_N", "Mx_Nm", "My_Nm", "T_Nm", "B_Nm2")
"""Of LineResult: axial and shear forces, moments, torque and bimoment."""


def _along(mast: MastResult) -> Iterator[Row]:
    for case in mast.cases:
        for load, line in (("service", case.line), ("factored", case.strength_line)):
            if line is not None:
                yield from _line(case, load, line)


def _line(case: CaseResult, load: str, line: LineResult) -> Iterator[Row]:
    for i, z in enumerate(line.z):
        x, y, along = line.displacement[i]
        roll, pitch, twist = line.rotation[i]
        yield {
            "case": case.case.name,
            "load": load,
            "z_m": float(z),
            "side_mm": float(y) * 1e3,
            "fore_aft_mm": float(x) * 1e3,
            "axial_mm": float(along) * 1e3,
            "roll_deg": math.degrees(roll),
            "pitch_deg": math.degrees(pitch),
            "twist_deg": math.degrees(twist),
            **{name: float(v) for name, v in zip(RESULTANTS, line.resultants[i], strict=True)},
        }


def _utilisation(mast: MastResult) -> Iterator[Row]:
    for case in mast.cases:
        found = case_line(mast, case)
        for z, used in () if found is None else zip(*found, strict=True):
            yield {"case": case.case.name, "z_m": float(z), "utilisation": float(used)}


def _geometry(mast: MastResult) -> Iterator[Row]:
    made = mast.job.mast
    drawn = made.section.construction is Construction.DRAWN
    for station in made.stations:
        wall = station.wall
        kind = "plies" if station.plies else "as drawn" if drawn else "by face and chord"
        yield {
            "at": station.at,
            "z_m": station.at * made.length,
            "chord_m": station.chord,
            "thickness_m": station.thickness,
            "wall_m": wall if isinstance(wall, float) else None,
            "wall_otherwise": kind if station.plies or drawn or isinstance(wall, Wall) else "",
            "outline": outline_name(station.outline or made.section.outline),
        }


def _walls(mast: MastResult) -> Iterator[Row]:
    """Walls that differ by face or along the chord."""
    for station in mast.job.mast.stations:
        if isinstance(station.wall, Wall):
            for face, points in (("port", station.wall.port), ("starboard", station.wall.starboard)):
                for chord, thick in points:
                    yield {"at": station.at, "face": face, "chord_fraction": chord, "wall_m": thick}


def _webs(mast: MastResult) -> Iterator[Row]:
    for web in mast.job.mast.section.webs:
        yield {
            "chord_fraction": web.at,
            "thickness_m": web.thickness,
            "lean_deg": math.degrees(web.lean),
        }


def _channels(mast: MastResult) -> Iterator[Row]:
    for channel in mast.job.mast.section.channels:
        yield {
            "chord_fraction": channel.at,
            "bore_m": channel.bore,
            "boss_m": channel.boss,
            "offset_m": channel.offset,
            "material": "" if channel.material is None else channel.material.name,
        }


def _recipe(mast: MastResult) -> Iterator[Row]:
    made, recipe = mast.job.mast, mast.job.mast.section
    yield {
        "made_as": made_of(made),
        "construction": str(recipe.construction),
        "taper_about": made.taper_about,
        "tip_warping": made.tip_warping,
        "trailing_edge_radius_m": recipe.trailing_edge_radius,
        "trailing_edge_thickness_m": recipe.trailing_edge_thickness,
        "nose_solid_to": recipe.nose_solid_to,
        "tail_solid_from": recipe.tail_solid_from,
        "knock_down": recipe.knock_down,
        "wet_fraction": mast.job.wet,
        "sections_solved": len(mast.sections),
        "fewest_elements": min(s.elements for s in mast.sections),
    }


def _layup(mast: MastResult) -> Iterator[Row]:
    for station in mast.job.mast.stations:
        for number, ply in enumerate(station.plies, 1):
            yield {
                "at": station.at,
                "z_m": station.at * mast.job.mast.length,
                "ply": number,
                "ply_material": ply.lamina.name,
                "angle_deg": math.degrees(ply.angle),
                "thickness_m": ply.thickness,
                "zones": "; ".join(map(str, ply.zones)),
            }


def _materials(mast: MastResult) -> Iterator[Row]:
    for m in dict.fromkeys([*isotropic_materials(mast.job.mast), *_solved(mast, laminated=False)]):
        yield {
            "name": m.name,
            "E_Pa": m.E,
            "G_Pa": m.G,
            "density_kg_per_m3": m.density,
            "proof_strength_Pa": m.proof_strength,
            "gamma_proof": m.gamma_proof,
            "ultimate_strength_Pa": m.ultimate_strength,
            "gamma_ultimate": m.gamma_ultimate,
            "shear_strength_Pa": m.shear_strength,
            "strengths_to_thickness_m": m.thickness_to,
            **_said(m.source, m.note),
        }


def _solved(mast: MastResult, *, laminated: bool) -> list[Material]:
    """What the sections were solved with, which is what counts."""
    every = (r.material for s in mast.sections for r in s.regions)
    return [m for m in dict.fromkeys(every) if (m.laminate is not None) == laminated]


def _laminas(mast: MastResult) -> Iterator[Row]:
    for x in laminas(mast.job.mast):
        yield {
            "name": x.name,
            **{f"{name}_Pa": getattr(x, name) for name in ("E1", "E2", "G12")},
            "nu12": x.nu12,
            "density_kg_per_m3": x.density,
            **{f"{name}_Pa": getattr(x, name) for name in ("Xt", "Xc", "Yt", "Yc", "S12")},
            "gamma": x.gamma,
            **_said(x.source, x.note),
        }


def _laminates(mast: MastResult) -> Iterator[Row]:
    for where, section in (("base", mast.sections[0]), ("tip", mast.sections[-1])):
        for m in dict.fromkeys(r.material for r in section.regions):
            if m.laminate is not None:
                wall = membrane(m.laminate)
                yield {
                    "where": where,
                    "laminate": m.name,
                    "thickness_m": wall.h,
                    "E_Pa": m.E,
                    "G_Pa": m.G,
                    "density_kg_per_m3": m.density,
                    "coupling": wall.coupling,
                    "unsymmetry": wall.unsymmetry,
                }


def _said(source: Source, note: str) -> Row:
    return {"source": str(source), "grade": str(source.grade), "note": note}


def _rider(mast: MastResult) -> Iterator[Row]:
    rider = mast.job.rider
    yield {
        "mass_kg": rider.mass,
        "gear_mass_kg": rider.gear_mass,
        "weight_N": rider.weight,
        "rider_height_m": rider.rider_height,
        "stance_width_m": rider.stance_width,
    }


def _loads(mast: MastResult) -> Iterator[Row]:
    for case in (c.case for c in mast.cases):
        yield {
            "case": case.name,
            "load_factor": case.n,
            "fore_aft_offset_m": case.offset,
            "roll_offset_m": case.roll_offset,
            "side_force_over_weight": case.side_force,
            "side_force_spread": case.side_spread,
            "feet_twist_over_weight_times_stance": case.feet_twist,
            **{f"force_{axis}_N": v for axis, v in zip("xyz", case.force, strict=True)},
            **{f"moment_{axis}_Nm": v for axis, v in zip("xyz", case.moment, strict=True)},
            "lift": str(case.lift),
            "strength_factor": case.strength_factor,
            **_said(case.source, ""),
        }


INPUTS: dict[str, Callable[[MastResult], Iterator[Row]]] = {
    "along-the-mast": _along,
    "utilisation-along": _utilisation,
    "geometry": _geometry,
    "walls": _walls,
    "webs": _webs,
    "channels": _channels,
    "recipe": _recipe,
    "layups": _layup,
    "materials": _materials,
    "ply-materials": _laminas,
    "laminates": _laminates,
    "riders": _rider,
    "load-cases": _loads,
}
"""Tables by file name without its ending."""
