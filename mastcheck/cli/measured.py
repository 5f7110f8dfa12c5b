"""What ``mastcheck new --measured`` says: the inferred wall, the bands, the assumptions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from mastcheck.checks.measured import Band, Measured, OtherOutline
from mastcheck.cli.measurements import Measurements
from mastcheck.cli.printing import bare, heading, items, print_cautions, show, title
from mastcheck.cli.show import MISSING, Units, number
from mastcheck.cli.text import one_line
from mastcheck.files.written import CUT_SHORT, length_text, mass_text, percent
from mastcheck.report.display import quantity, unit_label


def said(result: Measured, given: Measurements, others: Sequence[OtherOutline]) -> Iterator[str]:
    """What was measured, assumed and left out, a line each; the same for the file and the terminal.

    Args:
        result: the inferred mast.
        given: what was typed.
        others: what other outlines would give, where the outline is assumed.
    """
    recipe = result.mast.section
    yield f"measured: length {given.length}, mass {given.mass}"
    yield from (f"measured (place from the base: chord x thickness): {text}" for text in given.station)
    if given.fittings is not None:
        yield f"fittings of {given.fittings} taken off: the blade is {mass_text(result.weighed)}"
    else:
        yield "no fittings taken off: the blade alone is assumed to have been weighed"
    core = f" over {recipe.core.name}, {recipe.core.density:g} kg/m3" if recipe.core else ""
    density = f"{recipe.material.density:g} kg/m3"
    yield f"stated: {recipe.construction}, {recipe.material.name}, {density}{core}"
    if given.outline is None:
        yield f"outline {recipe.outline} assumed: none was stated"
        yield from (_other(other) for other in others)
    if given.trailing_edge_radius is None:
        yield "sharp trailing edge assumed: no radius was stated"
    yield "chord and thickness are assumed to run straight between the stations"
    if result.wall is not None:
        yield "the wall is assumed uniform, round the section and along the mast, without webs"
        yield "not in the bands: density and moduli of the materials, the outline, a wall that varies"
    else:
        yield "not in the bands: moduli of the material, and the outline"


def print_measured(console: Console, result: Measured, lines: Sequence[str], units: Units) -> None:
    """The inferred wall and its band, stiffness and its bands, which error matters, assumptions."""
    title(console, result.mast.name)
    show(console, _summary(result, units))
    heading(console, "Inferred from the mass" if result.wall else "Taken as solid")
    show(console, band_table(result, units))
    size = quantity(1e3 * result.size_error, "mm", units)
    mass = _mass_in(result.mass_error, units)
    words = f"bands: errors of {size} on chord, thickness and length, and {mass} on mass"
    console.print(Text(words, style="dim"), soft_wrap=not console.is_terminal)
    heading(console, "Which error matters: largest change it makes alone")
    show(console, effect_table(result))
    heading(console, "Assumptions")
    items(console, lines)
    print_cautions(console, cautions(result))


def band_table(result: Measured, units: Units) -> Table:
    """Values with their worst corner and the root of the sum of squares."""
    table = _table("", "value", "", "worst corner", "root sum square")
    mm, ei = unit_label("mm", units), unit_label("N·m²", units)
    if result.wall is None:
        kg = unit_label("kg", units)
        _row(table, "mass calculated", number(result.mass.value, "kg", units), kg, result.mass)
    else:
        _row(table, "wall", number(1e3 * result.wall.value, "mm", units), mm, result.wall)
    if result.core_share is not None:
        share = number(100 * result.core_share.value, "", units)
        _row(table, "core share", share, "% of volume", result.core_share)
    for s in result.sections:
        for name, band in (("EI_side", s.EI_side), ("EI_fore_aft", s.EI_fore_aft), ("GJ", s.GJ)):
            _row(table, f"{name}, {s.place}", number(band.value, "N·m²", units), ei, band)
    return table


def effect_table(result: Measured) -> Table:
    """Each error's own effect on the wall and, at the section where it is largest, on stiffness."""
    table = _table("error of", "wall", "EI_side", "EI_fore_aft", "GJ")
    for e in result.effects:
        wall = MISSING if result.wall is None else f"±{percent(e.wall)}"
        rest = (f"±{percent(v)}" for v in (e.EI_side, e.EI_fore_aft, e.GJ))
        table.add_row(e.measure, wall, *rest)
    return table


def cautions(result: Measured) -> Iterator[str]:
    """What a person must not overlook."""
    if result.wall is not None:
        yield (
            "the wall is inferred from the mass, not measured: it holds only as far as the assumptions"
            " above do; measure it where it shows, at an open end or a screw hole"
        )
    elif not result.mass_agrees:
        low, high = mass_text(result.mass.low), mass_text(result.mass.high)
        yield (
            f"the mass does not fit: solid it would be {mass_text(result.mass.value)} ({low} to {high}"
            f" within the measuring errors), the blade is {mass_text(result.weighed)}: it may not be"
            " solid, or be of another material or outline, or fittings were weighed with it"
        )
    if result.clamped:
        yield CUT_SHORT


def _summary(result: Measured, units: Units) -> Text:
    length = quantity(1e3 * result.mast.length, "mm", units, 4)
    recipe = result.mast.section
    core = f" over {recipe.core.name}" if recipe.core else ""
    blade = quantity(result.weighed, "kg", units, 4)
    words = f"length {length}   blade {blade}   {recipe.construction}, {recipe.material.name}{core}"
    return Text(one_line(words))


def _other(other: OtherOutline) -> str:
    """What another outline would come to."""
    if other.EI_side is None or other.GJ is None:
        return f"  were it {other.outline}: no wall gives this mass"
    wall = f"wall {length_text(other.wall, 3)}, " if other.wall is not None else ""
    side, twist = (f"{100 * (ratio - 1):+.0f} %" for ratio in (other.EI_side, other.GJ))
    return f"  were it {other.outline}: {wall}EI_side {side}, GJ {twist} at the middle"


def _mass_in(kilograms: float, units: Units) -> str:
    return quantity(kilograms, "kg", units) if units == "imperial" else f"{1000 * kilograms:.3g} g"


def _row(table: Table, name: str, value: str, unit: str, band: Band) -> None:
    low, high = band.shares
    table.add_row(name, value, unit, f"-{percent(low)} / +{percent(high)}", f"±{percent(band.spread)}")


def _table(first: str, *others: str) -> Table:
    table = bare()
    table.add_column(first)
    for name in others:
        table.add_column(name, justify="right" if name else "left")
    return table
