"""Modes, shedding and divergence for a reader at a terminal."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from mastcheck.checks.result import MastResult
from mastcheck.cli.printing import heading, items, show, table_of
from mastcheck.cli.show import Units, number
from mastcheck.report.display import unit_label
from mastcheck.report.motion import basis_words, divergence_words, met, shedding_words


def print_motion(console: Console, result: MastResult, units: Units) -> None:
    """Modes in air and water, speeds of lock-in, divergence; nothing where it was not looked at."""
    found = result.motion
    if found is None:
        return
    base = "on its joints" if result.job.joints.stated else "clamped base"
    heading(console, f"Motion: natural modes, {base}")
    for line in basis_words(found, units):
        console.print(Text(line), soft_wrap=not console.is_terminal)
    modes = table_of("in air", Hz=1)
    modes.add_column("in water")
    modes.add_column("Hz", justify="right")
    for dry, wet in zip(found.in_air, found.in_water, strict=True):
        modes.add_row(
            dry.name, number(dry.frequency, "Hz", units), wet.name, number(wet.frequency, "Hz", units)
        )
    show(console, modes)
    heading(console, "Motion: shedding at the trailing edge, divergence")
    items(console, [shedding_words(found, units), *divergence_words(result, units)])
    if found.shedding.lock_in:
        label = unit_label("m/s", units)
        columns = {"Hz": 1, f"meets at\n{label}": 1, f"band\n{label}": 1, "within\nthe speeds": 0}
        speeds = table_of("mode in water", **columns)
        for lock in found.shedding.lock_in:
            ends = (number(v, "m/s", units) for v in (lock.slowest, lock.fastest))
            speeds.add_row(
                lock.mode,
                number(lock.frequency, "Hz", units),
                number(lock.speed, "m/s", units),
                " to ".join(ends),
                met(lock, found.speeds),
            )
        show(console, speeds)
