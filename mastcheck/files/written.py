"""Masts written as mast files: TOML text that ``load`` reads back to the same mast."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from mastcheck.checks.cautions import ERRORS_LEAVE
from mastcheck.checks.measured import Band, Measured
from mastcheck.errors import InputError, Problem
from mastcheck.files.tolerance_rules import MOST_OF_SIZE
from mastcheck.files.tolerance_schema import MOST_PERCENT
from mastcheck.mast import Mast, OutlineKind, SectionRecipe, Station
from mastcheck.units import shown
from mastcheck.whole import unbroken

_ESCAPES = {'"': '\\"', "\\": "\\\\", "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r"}

WALL_DIGITS = 5
"""Significant digits of an inferred wall: enough that the mass comes back within 0.01 %."""

CUT_SHORT = (
    "at one end of the band no wall gives the mass: the thinnest wall or a solid section stands there,"
    " so the band is cut short"
)


def toml_text(text: str) -> str:
    r"""Text as a TOML basic string, quotes included; only what must be escaped is.

    Args:
        text: any text that UTF-8 can hold.

    >>> print(toml_text('3/4" mast \\ foil'))
    "3/4\" mast \\ foil"
    """
    return '"' + "".join(_ESCAPES.get(c, c if _allowed(c) else f"\\u{ord(c):04X}") for c in text) + '"'


def length_text(metres: float, digits: int = 9) -> str:
    """A length as the mast file has it, in mm without idle zeros.

    >>> length_text(0.75), length_text(0.0058674)
    ('750 mm', '5.8674 mm')
    """
    return f"{1000 * metres:.{digits}g} mm"


def mass_text(kilograms: float) -> str:
    """A mass to four figures.

    >>> mass_text(1.42), mass_text(0.635)
    ('1.42 kg', '635 g')
    """
    return f"{kilograms:.4g} kg" if kilograms >= 1 else f"{1000 * kilograms:.4g} g"


def mast_text(
    mast: Mast,
    *,
    head: Iterable[str] = (),
    note: str | None = None,
    wall: Iterable[str] = (),
    tail: Iterable[str] = (),
) -> str:
    """A mast file of a mast with a built-in outline and one uniform wall, in shipped materials.

    Args:
        mast: the mast.
        head: comment lines at the top.
        note: the mast's note, which reports repeat.
        wall: comment lines above the wall.
        tail: lines of TOML at the end.

    Raises: ValueError for a mast that has more to it than that.
    """
    return "\n".join([*_lines(mast, head, note, wall), *tail]) + "\n"


def measured_text(result: Measured, said: Iterable[str], *, outline_assumed: bool) -> str:
    """The mast file of a mast inferred from measurements: what was measured, assumed and left open.

    Args:
        result: the inferred mast with its bands.
        said: what was measured and assumed, a line each.
        outline_assumed: whether nobody stated the outline.
    """
    return mast_text(
        result.mast,
        head=("Written from outside measurements and mass.", "", *said, "", *band_lines(result)),
        note=_note(result, outline_assumed),
        wall=()
        if result.wall is None
        else (f"INFERRED from the mass, NOT measured: {_percents(result.wall)} by measuring error",),
        tail=_tolerances(result),
    )


def _tolerances(result: Measured) -> Iterator[str]:
    """The measuring errors as the file's tolerances, save one that is too large to be one."""
    error = result.size_error
    stations = result.mast.stations
    yield from ("", "[tolerances]  # what measuring leaves open, ± each; --tolerances says what it does")
    for key, least in (
        ("chord", min(s.chord for s in stations)),
        ("thickness", min(s.thickness for s in stations)),
    ):
        if error <= MOST_OF_SIZE * least:
            yield f"{key} = {toml_text(length_text(error))}"
    yield f"length = {toml_text(length_text(error))}"
    if result.wall is not None:
        share = max(map(abs, result.wall.shares))
        # Rounded up: a doubt is not made smaller by writing it down.
        yield f'wall = "{min(math.ceil(1e3 * share) / 10, MOST_PERCENT):g} %"'


def band_lines(result: Measured) -> Iterator[str]:
    """The bands as sentences, for the head of the file."""
    yield (
        f"Measuring errors of {length_text(result.size_error, 4)} on chord, thickness and length and"
        f" {mass_text(result.mass_error)} on mass leave,"
    )
    yield "all at once in the worst directions (in brackets: root of the sum of their squares):"
    if result.wall is not None:
        yield f"  wall {1000 * result.wall.value:.3g} mm: {_both(result.wall)}"
    if result.core_share is not None:
        share = 100 * result.core_share.value
        yield f"  core {share:.3g} % of the volume: {_both(result.core_share)}"
    for s in result.sections:
        for word, band in (("EI_side", s.EI_side), ("EI_fore_aft", s.EI_fore_aft), ("GJ", s.GJ)):
            yield f"  {word} at {s.place} {_figures(band.value)} N·m²: {_both(band)}"
    if result.clamped:
        yield CUT_SHORT


def write_new(path: Path, content: str) -> None:
    """Write a new text file, whole or not at all; an existing one is never overwritten.

    Raises: InputError where something is in the way or the folder cannot be written.
    """
    try:
        with unbroken(), path.open("x", encoding="utf-8", newline="\n") as out:
            try:
                out.write(content)
                out.flush()
            except (OSError, UnicodeError):
                path.unlink()
                raise
    except FileExistsError:
        raise InputError((exists_problem(path),)) from None
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        remedy = "choose another place, with room left on its disk"
        raise InputError((_problem(path, f"cannot be written ({reason})", remedy),)) from None


def path_problems(path: Path) -> Iterator[Problem]:
    """What would stop a new file from being written, told before the computing."""
    if os.path.lexists(path):
        yield exists_problem(path)
    elif not path.parent.is_dir():
        yield _problem(path, "its folder does not exist", "make it, or choose another place")


def exists_problem(path: Path) -> Problem:
    """That a file is in the way."""
    return _problem(path, "a file of this name exists", "choose another name")


def _problem(path: Path, rule: str, remedy: str) -> Problem:
    text = str(path)
    file = text if text.isprintable() else shown(text, 200)
    return Problem(key=file, found="", rule=rule, remedy=remedy)


def _allowed(char: str) -> bool:
    """Whether a TOML basic string may hold the character as it is (control characters may not)."""
    return ord(char) >= 0x20 and ord(char) != 0x7F


def _lines(mast: Mast, head: Iterable[str], note: str | None, wall: Iterable[str]) -> Iterator[str]:
    recipe = mast.section
    _check_plain(mast)
    yield from ("# A mast file for mastcheck.", *_comments(head), "", "[mast]")
    yield f"name = {toml_text(mast.name)}"
    if note is not None:
        yield f"note = {toml_text(note)}"
    yield f"length = {toml_text(length_text(mast.length))}"
    # Left out where it is the default, so that a check still says that it is assumed.
    if mast.taper_about != 0.5:
        yield f"taper_about = {mast.taper_about:.9g}"
    if mast.tip_warping != "free":
        yield f'tip_warping = "{mast.tip_warping}"'
    for station in mast.stations:
        yield from ("", "[[mast.station]]")
        yield f"at = {station.at:.9g}"
        yield f"chord = {toml_text(length_text(station.chord))}"
        yield f"thickness = {toml_text(length_text(station.thickness))}"
    yield from ("", "[section]")
    yield f'outline = "{recipe.outline}"'
    if recipe.trailing_edge_radius:
        yield f"trailing_edge_radius = {toml_text(length_text(recipe.trailing_edge_radius))}"
    yield f'construction = "{recipe.construction}"'
    thick = _one_wall(mast.stations)
    if thick is not None:
        yield from _comments(wall)
        yield f"wall = {toml_text(length_text(thick, WALL_DIGITS))}"
    yield f"material = {toml_text(recipe.material.name)}"
    if recipe.core is not None:
        yield f"core = {toml_text(recipe.core.name)}"


def _check_plain(mast: Mast) -> None:
    """Refuse what would be left out of the file."""
    recipe = mast.section
    plain = SectionRecipe(
        outline=recipe.outline,
        construction=recipe.construction,
        material=recipe.material,
        core=recipe.core,
        trailing_edge_radius=recipe.trailing_edge_radius,
    )
    if not isinstance(recipe.outline, OutlineKind) or any(s.outline or s.plies for s in mast.stations):
        raise ValueError("only a built-in outline of one material can be written")
    if recipe != plain:
        raise ValueError("webs, channels, plies, blunt tails and solid ends cannot be written")


def _one_wall(stations: tuple[Station, ...]) -> float | None:
    first = stations[0].wall
    if not (first is None or isinstance(first, float)) or any(s.wall != first for s in stations):
        raise ValueError("only one uniform wall can be written")
    return first


def _comments(lines: Iterable[str]) -> Iterator[str]:
    """Comment lines; control characters, which TOML forbids there too, become blanks."""
    for line in lines:
        yield "# " + "".join(c if c.isprintable() else " " for c in line) if line else "#"


def _note(result: Measured, outline_assumed: bool) -> str:
    """What a report on this mast must say of it."""
    weighed = mass_text(result.weighed)
    errors = f"{length_text(result.size_error, 4)} and {mass_text(result.mass_error)}"
    worst = ", ".join(
        f"{word} {_percents(max(bands, key=lambda b: b.high / b.value - b.low / b.value))}"
        for word, bands in (
            ("EI_side", [s.EI_side for s in result.sections]),
            ("EI_fore_aft", [s.EI_fore_aft for s in result.sections]),
            ("GJ", [s.GJ for s in result.sections]),
        )
    )
    if result.wall is not None:
        what = f"wall {1000 * result.wall.value:.3g} mm inferred from a mass of {weighed}, not measured"
    elif result.mass_agrees:
        what = f"taken as solid; its mass, {weighed}, agrees"
    else:
        what = (
            f"taken as solid, but it weighs {weighed} where a solid one would weigh"
            f" {mass_text(result.mass.value)}: do not trust these numbers"
        )
    outline = f"; outline {result.mast.section.outline} assumed" if outline_assumed else ""
    return f"{what}{outline}; {ERRORS_LEAVE} {errors} leave at worst {worst}"


def _figures(value: float) -> str:
    """Three significant figures, without an exponent for large values."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def _both(band: Band) -> str:
    return f"{_percents(band)} (±{percent(band.spread)})"


def _percents(band: Band) -> str:
    low, high = band.shares
    return f"-{percent(-low)} to +{percent(high)}"


def percent(share: float) -> str:
    """A share in percent: whole from ten up, else to a tenth.

    >>> percent(0.1234), percent(0.0123)
    ('12 %', '1.2 %')
    """
    value = 100 * abs(share)
    return f"{value:.0f} %" if value >= 9.95 else f"{value:.1f} %"
