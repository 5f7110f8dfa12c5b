"""``--vary``: what is to be changed, and over which values, as it stands on the command line.

Three forms: ``key`` (its range is left to the command), ``key=FROM:TO`` (a range), and values: one,
several with commas between, or ``key=FROM:TO:N``, N of them evenly spread.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mastcheck.errors import Problem
from mastcheck.files.options import LENGTHS, RIDER_MASSES
from mastcheck.search.variables import DesignError, Variable, key_of
from mastcheck.units import Dimension, UnitError, parse, shown

_EXAMPLES = {
    Dimension.LENGTH: ("2mm", "3.5mm"),
    Dimension.MASS: ("70kg", "100kg"),
    Dimension.ANGLE: ("0deg", "45deg"),
}
_OWN_EXAMPLES = {"length": ("65cm", "95cm"), "chord": ("110mm", "160mm"), "thickness": ("14mm", "20mm")}
_BOUNDS = {"length": (LENGTHS, "50 mm to 10 m"), "rider": (RIDER_MASSES, "10 kg to 300 kg")}
MOST_VALUES = 10_000
"""Most values of one key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Vary:
    """A key as it was given: ``values`` [SI] where they are stated, the ends where a ``range`` is."""

    key: str
    values: tuple[float, ...] = ()
    range: tuple[float, float] | None = None


def read_vary(
    text: str, problems: list[Problem], flag: str = "--vary", *, bounds: bool = False
) -> Vary | None:
    """``key``, ``key=FROM:TO``, ``key=FROM:TO:N`` or ``key=a,b,c``; None with faults noted.

    ``bounds``: remedies name the form ``key=FROM:TO`` alone, for commands that take no other.

    >>> read_vary("wall=2mm:3mm:3", []).values
    (0.002, 0.0025, 0.003)
    """
    name, equals, words = text.partition("=")
    name = name.strip()
    if not name:
        rule, remedy = "names nothing to vary", "write --vary wall=2mm:3.5mm:4 for four values"
        remedy = "write --vary wall, or --vary wall=2mm:3.5mm" if bounds else remedy
        problems.append(Problem(key=flag, found=shown(text), rule=rule, remedy=remedy))
        return None
    try:
        kind = key_of(name)
    except DesignError as fault:
        rule, _, remedy = str(fault).partition("; ")
        problems.append(Problem(key=flag, found=shown(text), rule=rule, remedy=remedy))
        return None
    if not equals:
        return Vary(key=name)
    return _valued(flag, name, words, kind.dimension, problems, bounds=bounds)


def read_values(
    key: str, text: str, problems: list[Problem], flag: str | None = None
) -> Variable | None:
    """The values of one key, FROM:TO:N or a list or one; None with faults noted.

    ``flag``: the option that has the key for its name, such as ``--length``.
    """
    known = len(problems)
    if flag is None:
        found = read_vary(text, problems)
    else:
        found = _valued(flag, key, text, key_of(key).dimension, problems)
    if found is not None and found.values:
        return Variable(key=found.key, values=found.values)
    if len(problems) == known and found is not None:
        low, high = _example(found.key)
        start = f"--vary {found.key}=" if flag is None else f"{flag} "
        rule = "says between which ends, but not how many values" if found.range else "has no values"
        remedy = f"write {start}{low}:{high}:4 for four values, or {start}{low},{high}"
        problems.append(Problem(key=flag or "--vary", found=shown(text), rule=rule, remedy=remedy))
    return None


def read_variables(
    vary: Sequence[str], named: Iterable[tuple[str, str | None]], problems: list[Problem]
) -> tuple[Variable, ...]:
    """All variables of a command: those of ``--vary``, and keys with an option of their own.

    Args:
        vary: the words after each ``--vary``.
        named: (key, words) of ``--length``, ``--rider``; None where not given.
        problems: faults are added to these.
    """
    found = [read_values("", text, problems) for text in vary]
    for key, text in named:
        if text is not None:
            found.append(read_values(key, text, problems, flag=f"--{key}"))
    variables = [v for v in found if v is not None]
    keys = [v.key for v in variables]
    for key in sorted({k for k in keys if keys.count(k) > 1}):
        rule, remedy = "is varied twice", "give all its values at one place"
        problems.append(Problem(key="--vary", found=key, rule=rule, remedy=remedy))
    return tuple(variables)


def _valued(
    flag: str,
    key: str,
    words: str,
    dimension: Dimension,
    problems: list[Problem],
    *,
    bounds: bool = False,
) -> Vary | None:
    start = f"{flag} {key}=" if flag == "--vary" else f"{flag} "
    low, high = _example(key)
    spaced = f"{start}{low}:{high}" if bounds else f"{start}{low}:{high}:4"

    def refuse(rule: str, remedy: str, found: str = words) -> None:
        place = f"{flag} {key}" if flag == "--vary" else flag
        problems.append(Problem(key=place, found=shown(found), rule=rule, remedy=remedy))

    parts = words.split(":")
    texts = words.split(",") if len(parts) == 1 else parts[:2]
    try:
        values = [parse(t, dimension) for t in texts]
    except UnitError as error:
        listed = "" if bounds else f' or "{start}{low},{high}"'
        refuse(f"{error.found}: {error.rule}", f'write "{spaced}"{listed}')
        return None
    if key in _BOUNDS and not all(_BOUNDS[key][0][0] <= v <= _BOUNDS[key][0][1] for v in values):
        refuse(f"must be from {_BOUNDS[key][1]}", "check the numbers and their units")
        return None
    if len(parts) == 1:
        if len(set(values)) < len(values):
            refuse("states a value twice", "leave one of them out")
            return None
        return Vary(key=key, values=tuple(values))
    if len(parts) > 3 or not values[0] < values[1]:
        rule = f"a range runs from the smaller to the larger, FROM:TO{'' if bounds else ':N'}"
        refuse(rule, f'write "{spaced}"')
        return None
    ends = (values[0], values[1])
    if len(parts) == 2:
        return Vary(key=key, range=ends)
    count = parts[2].strip()
    if not (count.isascii() and count.isdecimal() and len(count) < 8):
        refuse(f"{shown(parts[2])} is no number of values", f'write "{spaced}"')
        return None
    if not 2 <= int(count) <= MOST_VALUES:
        refuse(f"a range takes from 2 to {MOST_VALUES} values", f'write "{spaced}"')
        return None
    return Vary(key=key, values=spread(*ends, int(count)))


def _example(key: str) -> tuple[str, str]:
    """Two values of a key as one may write them."""
    return (
        _OWN_EXAMPLES.get("" if key.startswith("ply") else key.rpartition("_")[2])
        or _EXAMPLES[key_of(key).dimension]
    )


def spread(low: float, high: float, count: int) -> tuple[float, ...]:
    """Evenly spread values, ends included, without the dust of binary fractions.

    >>> spread(0.11, 0.16, 6)
    (0.11, 0.12, 0.13, 0.14, 0.15, 0.16)
    """
    step = (high - low) / (count - 1)
    between = (float(f"{low + i * step:.12g}") for i in range(1, count - 1))
    return (low, *between, high)
