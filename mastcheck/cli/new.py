"""``mastcheck new``: a starter mast file, or one from a tape measure and a kitchen scale."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from mastcheck.cli.measurements import Measurements, flag, read_measurements
from mastcheck.errors import InputError, Problem
from mastcheck.units import shown

if TYPE_CHECKING:
    from mastcheck.checks.wall import NoWallError


def new(
    path: Path,
    /,
    *,
    measured: Annotated[bool, Parameter(negative=(), show_default=False)] = False,
    measurements: Measurements | None = None,
) -> int:
    """Write a commented starter mast file, or with --measured one for a mast you can only measure.

    With --measured the wall, which cannot be seen, is inferred from the mass: the uniform wall with
    which the mast weighs what it weighs. The bands that measuring errors leave on it and on the
    stiffness are printed, and written into the file. A place is a distance from the base, or a
    fraction of the length, or base or tip.

    Args:
        path: Where to write it; an existing file is never overwritten.
        measured: Infer the wall from length, mass, and caliper readings.
        measurements: What was measured.

    Returns:
        The exit status.
    """
    from mastcheck.cli.text import place

    measurements = measurements or Measurements()
    if measured:
        _new_measured(path, measurements)
    else:
        problems = tuple(_without_measured(measurements))
        if problems:
            raise InputError(problems)
        from mastcheck.files.mastfile import write_starter

        write_starter(path)
    print(f"wrote {place(path)}; next: mastcheck check {shlex.quote(place(path))}")
    return 0


def _new_measured(path: Path, given: Measurements) -> None:
    """Infer, write the file, print what was found."""
    from mastcheck.files.written import path_problems

    problems = list(path_problems(path))
    read = read_measurements(path, given, problems)
    if read is None or problems:
        raise InputError(tuple(dict.fromkeys(problems)))

    from mastcheck.checks.measured import measure, other_outlines
    from mastcheck.checks.wall import NoWallError
    from mastcheck.cli.console import console
    from mastcheck.cli.measured import print_measured, said
    from mastcheck.cli.progress import Waiting
    from mastcheck.files.written import measured_text, write_new

    with Waiting(1) as waiting:
        try:
            result = measure(
                read.mast,
                read.mass,
                size_error=read.size_error,
                mass_error=read.mass_error,
                progress=waiting.of(0),
            )
        except NoWallError as error:
            raise InputError((_no_wall(error, given),)) from None
        others = other_outlines(read.mast, read.mass) if given.outline is None else ()
    lines = tuple(said(result, given, others))
    write_new(path, measured_text(result, lines, outline_assumed=given.outline is None))
    print_measured(console(), result, lines, given.units or "metric")


def _without_measured(given: Measurements) -> Iterator[Problem]:
    """Options that say nothing to a starter file."""
    for field in fields(given):
        value = getattr(given, field.name)
        if value not in (None, ()):
            yield Problem(
                key=flag(field.name),
                found=shown(value[0] if isinstance(value, tuple) else value),
                rule="goes with --measured only",
                remedy="add --measured, or leave it out",
            )


def _no_wall(error: NoWallError, given: Measurements) -> Problem:
    """Why no wall fits, the nearest possible mass, and what may explain it."""
    from mastcheck.files.written import length_text, mass_text

    reach, mass = error.reach, error.mass
    of = f"{mass_text(mass)} of blade" if given.fittings else mass_text(mass)
    solid = mass_text(reach.solid)
    if mass < reach.lightest:
        least = f"a wall of {length_text(reach.least_wall, 3)}, weighs {mass_text(reach.lightest)}"
        rule = f"no wall makes it as light as {of}: the nearest possible, {least}"
        lighter = "with a lighter core, or hollow" if given.core else "of another construction"
        remedy = f"it may be of a lighter material, or {lighter}"
        remedy += ", or too much was taken off as fittings" if given.fittings else ""
    elif mass > reach.solid:
        rule = f"no wall makes it as heavy as {of}: the nearest possible, solid, weighs {solid}"
        remedy = (
            "plate, screws or water may have been weighed with it (take them off with --fittings), or"
            " it is of a denser material or a fuller outline"
        )
    else:
        most = mass_text(reach.heaviest)
        rule = (
            f"no uniform wall gives {of}: with {length_text(reach.greatest_wall, 3)}, the thickest that"
            f" leaves a void everywhere, it weighs {most}, and solid {solid}:"
            f" the nearest possible is {mass_text(reach.nearest(mass))}"
        )
        remedy = (
            "it may be solid, or solid at one end, or plate, screws or water were weighed with it (take"
            " them off with --fittings), or its outline is another"
        )
    return Problem(key="--mass", found=shown(given.mass), rule=rule, remedy=remedy)
