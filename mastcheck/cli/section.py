"""``mastcheck section``: one cross-section, with its properties, picture and outline."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.options import Quantity, _quantity
from mastcheck.cli.outputs import can_hold_files, drawing_problems, first_existing
from mastcheck.cli.show import MISSING, Units
from mastcheck.errors import InputError, Problem
from mastcheck.units import Dimension, shown

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from mastcheck.checks.section import RegionShare, SectionResult
    from mastcheck.job import Job

PICTURES = (".png", ".svg", ".pdf")


def section(
    file: Path,
    /,
    *,
    at: Annotated[str, Parameter(allow_leading_hyphen=True)] = "0.5",
    length: Quantity = None,
    draw: Path | None = None,
    dxf: Path | None = None,
    json: Path | None = None,
    units: Units = "metric",
    allow_outside: Annotated[bool, Parameter(negative=())] = False,
    no_cache: Annotated[bool, Parameter(negative=())] = False,
) -> int:
    """Solve one cross-section: properties, regions, buildability notes; draw it to scale.

    Args:
        file: The mast file (TOML).
        at: Where along the mast: a fraction of the length, 0 base to 1 tip.
        length: Another length of the mast, with its unit: "30 in".
        draw: Also draw the section to this file, .png, .svg or .pdf (1:1 where it fits A4).
        dxf: Also write the outlines to this file as DXF, in mm.
        json: Also write the results to this file as JSON, in SI units.
        units: Units of the printed tables and the picture. JSON and DXF keep theirs.
        allow_outside: Also read outline files that lie outside the mast file's folder.
        no_cache: Solve every section anew and keep none. Results are the same.

    Returns:
        The exit status.
    """
    outputs = {"--draw": draw, "--dxf": dxf, "--json": json}
    job, place = _read(file, at, length, outputs, allow_outside=allow_outside)

    from mastcheck.checks.section import solve_at
    from mastcheck.cli.console import console
    from mastcheck.section.store import without

    with without(when=no_cache):
        result = solve_at(job, place)
    made: list[tuple[Path, bytes]] = []
    if draw is not None:
        from mastcheck.report.section_figure import picture

        made.append((draw, picture(result, draw.suffix.lower(), units=units)))
    said = ""
    if dxf is not None:
        from mastcheck.files.dxf import is_nested, layer_name, section_dxf

        regions = result.model.regions
        made.append((dxf, section_dxf(regions, name=f"{job.mast.name}, section at {place:g}")))
        if not is_nested(regions):
            said = (
                "the DXF holds the outline and its voids, and the zones on layers of their own: to read"
                ' it back, set the layers that begin with ZONE to "ignore" in [section.layers]'
            )
        elif len({region.material for region in regions}) > 1:
            fills = {r.material.name: r.material.laminate is not None for r in regions}
            said = (
                "the DXF has a layer for each material: to read it back as drawn, name what fills each"
                " in [section.layers], or what lies within the outline is taken for a void: "
                + ", ".join(f'"{layer_name(name)}" = "{name}"' for name in fills)
                + ("; a laminate by a [material] table of its own" if any(fills.values()) else "")
            )
    if json is not None:
        from mastcheck.report.section_json import section_json

        made.append((json, section_json(result).encode()))
    if made:
        from mastcheck.whole import write_all

        write_all(made)
    print_section(console(), result, units, said)
    return 0


def _read(
    file: Path, at: str, length: str | None, outputs: dict[str, Path | None], *, allow_outside: bool
) -> tuple[Job, float]:
    """The job and the fraction; every fault of options and file told at once, before any computing.

    Raises:
        InputError: with all of them.
    """
    from mastcheck.files.mastfile import apply, load

    problems = output_problems(outputs, file)
    place = _fraction(at, problems)
    metres = _quantity("--length", length, Dimension.LENGTH, problems)
    try:
        job = apply(load(file, allow_outside=allow_outside), length=metres)
        problems += drawing_problems(outputs, file, job)
    except InputError as error:
        problems += error.problems
    if problems:
        raise InputError(tuple(dict.fromkeys(problems)))
    return job, place


def _fraction(text: str, problems: list[Problem]) -> float:
    """A fraction of the length; a fault is noted in ``problems``."""
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if 0 <= value <= 1:
        return value
    problems.append(
        Problem(
            key="--at",
            found=shown(text),
            rule="must be a fraction of the length, from 0 (base) to 1 (tip)",
            remedy="0.5 is the middle",
        )
    )
    return 0.0


def output_problems(outputs: dict[str, Path | None], file: Path) -> list[Problem]:
    """What would stop the outputs from being written, by option: wrong suffix, folder, same path.

    ``file``: the mast file, which no output may take the place of.
    """
    suffixes = {"--draw": PICTURES, "--dxf": (".dxf",), "--report": (".pdf",)}
    problems: list[Problem] = []
    taken = {file.resolve(): "the mast file"}
    for flag, path in outputs.items():
        if path is None:
            continue

        def refuse(rule: str, remedy: str, flag: str = flag, path: Path = path) -> None:
            problems.append(Problem(key=flag, found=str(path), rule=rule, remedy=remedy))

        wanted = suffixes.get(flag, ())
        if path.is_dir():
            refuse("is a folder", "name a file in it")
        elif not can_hold_files(first_existing(path)):
            refuse(f"{first_existing(path)} is no folder that you may write to", "choose another place")
        elif wanted and path.suffix.lower() not in wanted:
            refuse(f"must end in {' or '.join(wanted)}", "rename it")
        first = taken.setdefault(path.resolve(), flag)
        if first == "the mast file":
            refuse("is the mast file itself", "name another")
        elif first != flag:
            refuse(f"is also the path of {first}", "name another")
    return problems


def print_section(console: Console, result: SectionResult, units: Units, said: str = "") -> None:
    """The section in tables: sizes, properties, regions, notes, what is ``said``; cautions last."""
    from rich.text import Text

    from mastcheck.cli.printing import heading, items, print_cautions, safe, show, title
    from mastcheck.report.display import quantity
    from mastcheck.report.words import outline_words

    title(console, result.job.mast.name)
    z = quantity(1e3 * result.z, "mm", units, 4)
    console.print(Text(f"section at {result.at:g} of the length, z = {z} from the base"))
    outline = outline_words(result.station.outline or result.job.mast.section.outline)
    console.print(safe(f"{outline}, {result.job.mast.section.construction}"))
    for words, table in (
        ("Sizes", sizes_table(result, units)),
        (
            "Properties (x from the stacking line, aft positive; y to port)",
            properties_table(result, units),
        ),
        ("Centres", centres_table(result, units)),
        ("Regions", regions_table(result, units)),
    ):
        heading(console, words)
        show(console, table)
    layups = [line for line in map(_layup_line, result.regions) if line]
    items(console, dict.fromkeys(layups))
    if result.geometry is not None:
        heading(console, "Geometry of the one material: A = EA/E, I = EI/E, J = GJ/G")
        show(console, geometry_table(result, units))
    heading(console, "Buildability: notes, not verdicts (!: past common practice)")
    items(console, [f"{'! ' if n.beyond else ''}{n.text} ({n.basis})" for n in result.notes])
    heading(console, "Assumptions")
    materials = dict.fromkeys(f"{r.material.name}: {r.material.source}" for r in result.regions)
    items(console, [*materials, *result.assumptions])
    console.print()
    console.print(safe(f"mesh of {result.model.elements} triangles, ready in {result.seconds:.2f} s"))
    if said:
        console.print(safe(said), soft_wrap=not console.is_terminal)
    print_cautions(console, result.cautions)


def _rows(rows: list[tuple[str, str, str]]) -> Table:
    """Words, a number, its unit."""
    from mastcheck.cli.printing import bare, safe

    table = bare(header=False)
    table.add_column("")
    table.add_column("", justify="right")
    table.add_column("")
    for words, value, unit in rows:
        table.add_row(safe(words), value, unit)
    return table


def sizes_table(result: SectionResult, units: Units) -> Table:
    """Chord, thickness and walls as stated; width, height, area and perimeter as built."""
    from mastcheck.cli.show import number
    from mastcheck.report.display import factor, given, unit_label
    from mastcheck.report.words import wall_words

    station = result.station
    mm, size = unit_label("mm", units), factor("mm", units)

    def say(metres: float) -> str:
        return given(round(1e3 * metres * size, 3 if units == "metric" else 4))

    rows = [
        ("chord", say(station.chord), mm),
        ("thickness", say(station.thickness), mm),
    ]
    if station.wall is not None:
        rows.append(("wall", wall_words(station.wall, units), mm))
    if station.plies:
        from mastcheck.checks.layup_notes import zone_thickness

        rows += [(f"plies, {zone}", say(t), mm) for zone, t in zone_thickness(station).items()]
    rows += [
        ("width as built", say(result.width), mm),
        ("height as built", say(result.height), mm),
        ("area", number(1e6 * result.model.properties.area * size**2, "", units, 5), f"{mm}²"),
        ("perimeter", number(1e3 * result.perimeter, "mm", units, 5), mm),
    ]
    return _rows(rows)


def properties_table(result: SectionResult, units: Units) -> Table:
    """Stiffness, flexibility in shear, principal axes and mass."""
    from mastcheck.cli.show import number
    from mastcheck.report.display import factor, fixed, unit_label

    p, axes = result.model.properties, result.principal
    newton, bending = unit_label("N", units), unit_label("N·m²", units)
    metre = 1e3 * factor("mm", units)  # display lengths in a metre

    def ei(value: float) -> str:
        return number(value, "N·m²", units, 4)

    # Below this share EIxy is what arithmetic and meshing leave of a symmetric section.
    nil = abs(p.EIxy) < 1e-6 * math.sqrt(axes.least * axes.greatest)

    def shear(value: float) -> str:
        nil = abs(value) < 1e-5 * (abs(p.shear_flex_xx) + abs(p.shear_flex_yy))
        return "0" if nil else number(1e9 * value / factor("N", units), "", units, 4)

    warping = p.EGamma * factor("N·m²", units) * (1.0 if units == "metric" else metre**2)
    return _rows(
        [
            ("EA", number(p.EA / 1e6, "N", units, 4), f"10⁶ {newton}"),
            ("EI_side (EIxx)", ei(p.EIxx), bending),
            ("EI_fore_aft (EIyy)", ei(p.EIyy), bending),
            ("EIxy", "0" if nil else ei(p.EIxy), bending),
            ("GJ", ei(p.GJ), bending),
            ("EGamma", number(warping, "", units, 4), bending.replace("²", "⁴")),
            ("shear flexibility xx", shear(p.shear_flex_xx), f"10⁻⁹/{newton}"),
            ("shear flexibility yy", shear(p.shear_flex_yy), f"10⁻⁹/{newton}"),
            ("shear flexibility xy", shear(p.shear_flex_xy), f"10⁻⁹/{newton}"),
            ("principal EI, greatest", ei(axes.greatest), bending),
            ("principal EI, least", ei(axes.least), bending),
            (
                "principal angle",
                fixed(math.degrees(axes.angle), 3).replace("−", "-"),
                "° from the chord line to the axis of least EI, toward port",
            ),
            (
                "mass per length",
                number(p.mass_per_length, "kg/m", units, 4),
                unit_label("kg/m", units),
            ),
        ]
    )


def centres_table(result: SectionResult, units: Units) -> Table:
    """Centroid and shear centre, from the stacking line and from the leading edge."""
    from mastcheck.cli.printing import table_of
    from mastcheck.report.display import factor, fixed, unit_label

    p, mm = result.model.properties, unit_label("mm", units)
    places = 2 if units == "metric" else 4

    def say(metres: float, *, sign: bool = True) -> str:
        words = fixed(1e3 * metres * factor("mm", units), places).replace("−", "-")
        if not float(words):
            return "0"
        return words if words.startswith("-") or not sign else f"+{words}"

    table = table_of("", **{f"x\n{mm}": 1, f"y\n{mm}": 1, f"from leading edge\n{mm}": 1})
    for words, x, y in (
        ("centroid", p.centroid_x, p.centroid_y),
        ("shear centre", p.shear_centre_x, p.shear_centre_y),
    ):
        table.add_row(words, say(x), say(y), say(x - result.leading_edge_x, sign=False))
    return table


def regions_table(result: SectionResult, units: Units) -> Table:
    """Material, area, moduli and share of the mass of each region."""
    from mastcheck.cli.printing import safe, table_of
    from mastcheck.cli.show import number
    from mastcheck.report.display import factor, unit_label

    mm, gpa = unit_label("mm", units), unit_label("GPa", units)
    heads = (f"area\n{mm}²", f"E\n{gpa}", f"G\n{gpa}", "stretch-shear\ncoupling", "mass\nshare")
    table = table_of("material", **dict.fromkeys(heads, 1))
    for share in result.regions:
        table.add_row(
            safe(share.material.name),
            number(1e6 * share.area * factor("mm", units) ** 2, "", units, 4),
            number(share.material.E / 1e9, "GPa", units, 4),
            number(share.material.G / 1e9, "GPa", units, 4),
            MISSING if share.membrane is None else f"{round(share.membrane.coupling, 3) + 0.0:.3f}",
            f"{100 * share.share:.1f} %",
        )
    return table


def _layup_line(share: RegionShare) -> str:
    return f"{share.material.name}, outside in: {share.layup}" if share.layup else ""


def geometry_table(result: SectionResult, units: Units) -> Table:
    """A, I, J and the warping constant."""
    from mastcheck.cli.show import number
    from mastcheck.report.display import factor, unit_label

    g = result.geometry
    if g is None:
        raise ValueError("a section of several materials has no plain geometry")
    size, mm = 1e3 * factor("mm", units), unit_label("mm", units)
    return _rows(
        [
            ("A", number(g.area * size**2, "", units, 5), f"{mm}²"),
            ("I about the chord line (xx)", number(g.Ixx * size**4, "", units, 5), f"{mm}⁴"),
            ("I fore-aft (yy)", number(g.Iyy * size**4, "", units, 5), f"{mm}⁴"),
            ("J", number(g.J * size**4, "", units, 5), f"{mm}⁴"),
            ("warping constant", number(g.Gamma * size**6, "", units, 4), f"{mm}⁶"),
        ]
    )
