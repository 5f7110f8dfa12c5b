"""Tolerances in words, tables and rows; nothing where they were not asked for."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from mastcheck.checks.result import MastResult
from mastcheck.checks.tolerance_result import Band, Chance, TolerancesResult
from mastcheck.report.cells import Cell, Table, called, letters, table, tidy
from mastcheck.report.display import (
    System,
    factor,
    fixed,
    given,
    number,
    plain,
    quantity,
    stated,
    unit_label,
)
from mastcheck.scatter import Law, Quantity, Tolerance

_PER_MAST = ("side per load", "fore-aft per load", "twist per torque")
_NAMES = {
    Quantity.LOAD: "load, all of it",
    Quantity.E: "E, with G",
    Quantity.G: "G beside E",
}
_LAWS = {Law.UNIFORM: "uniform", Law.NORMAL: "normal, 95 % within"}
_NEAR = 0.5
"""Limits used this much are listed, though no sample exceeded them."""
_MOST_ROWS = 14

CAUTIONS = (
    "These bands hold what the tolerances listed do, each independent of the others, and nothing "
    "else: not the accuracy of the method, not damage, wear, corrosion or faulty bonding.",
    "Strengths are not scattered: they stand at their design values, low ones over a partial factor. "
    "The share of masts over a limit is no probability of breaking, and a small one is no approval.",
)
METHOD = (
    "A size is off by as much at every station, as one die or one mould makes it; webs, bores and "
    "joints stay. Sizes are taken as uniform between their limits (nothing more is known of them, "
    "and a die may sit anywhere in its own); load, E and G as normal with 95 % within. E moves G "
    "with it; what G of a laminate scatters beside that is put on its torsional stiffness. Bands are "
    "to hold 95 %: 1.96 times the root of the sum of squares of what each tolerance does, by the "
    "exact rates (stability and a laminate's G: by differences), and never more than all limits at "
    "once, the worst case. Utilisation is that of the place which governs now."
)
SAMPLED = (
    "Samples are a Latin hypercube of whole checks; of each number the middle 95 % is given. "
    "Intervals of probabilities are those of Clopper and Pearson at 95 % confidence. Marked *: an "
    "end of the linear band is not where the samples put it, since the number does not go in a "
    "straight line, or another place governs; take the wider of the two."
)


def quantity_words(tolerance: Tolerance) -> str:
    """What scatters."""
    return _NAMES.get(tolerance.quantity, str(tolerance.quantity))


def limit_words(tolerance: Tolerance, units: System) -> str:
    """± so much."""
    if tolerance.relative:
        return f"± {given(tolerance.limit * 100)} %"
    return f"± {stated(tolerance.limit * 1e3, 'mm', units)}"


def tolerance_rows(found: TolerancesResult, units: System) -> list[list[str]]:
    """What scatters, by how much, how it is taken, and from where."""
    return [
        [quantity_words(t), limit_words(t, units), _LAWS[t.law], str(t.source)] for t in found.tolerances
    ]


def ends(band: Band) -> tuple[float, float]:
    """The ends as told in a headline: the wider of the linear band and the samples."""
    if band.spread is None:
        return band.low, band.high
    return min(band.low, band.spread.low), max(band.high, band.spread.high)


def value_words(band: Band, units: System) -> str:
    """A value with its band.

    >>> from mastcheck.checks.tolerance_result import Band
    >>> own = {"name": "twist", "case": "", "unit": "deg", "changes": ()}
    >>> value_words(Band(value=1.93, half_width=0.24, worst=0.3, **own), "metric")
    '1.93° (1.69 to 2.17)'
    """
    low, high = ends(band)
    by = factor(band.unit, units)
    upper = "no end" if math.isinf(high) else number(high * by)
    return f"{quantity(band.value, band.unit, units)} ({number(low * by)} to {upper})"


def headline_words(result: MastResult, units: System) -> list[str]:
    """The first numbers of a mast with their bands: mass, stiffness, and of the rest the load case
    whose band ends worst.
    """
    found = result.tolerances
    if found is None:
        return []
    by_name: dict[str, list[Band]] = {}
    for band in found.bands:
        by_name.setdefault(band.name, []).append(band)
    out = [f"{name} {value_words(by_name[name][0], units)}" for name in ("mass", *_PER_MAST)]
    for name in ("side", "twist", "utilisation", "stability factor"):
        if bands := by_name.get(name):
            least = name == "stability factor"
            most = min(bands, key=lambda b: ends(b)[0] if least else -ends(b)[1])
            out.append(f"{name} {value_words(most, units)} in {plain(most.case)}")
    if found.any_limit is not None:
        out.append(f"over any limit: {chance_words(found.any_limit)}")
    return [tidy(words) for words in out]


def chance_words(chance: Chance) -> str:
    """How often, and how probable that makes it; never "0".

    >>> from mastcheck.checks.tolerance_result import Chance
    >>> seen = {"name": "", "case": "", "used": 0.5, "count": 256}
    >>> chance_words(Chance(exceeded=0, low=0.0, high=0.0116, **seen))
    'none of 256 samples, probability less than 1.2 %'
    """
    how = f"{chance.exceeded or 'none'} of {chance.count} samples"
    return f"{how}, probability {probability(chance)}"


def probability(chance: Chance) -> str:
    """A probability with its interval; where it never happened the bound, rounded up."""
    if chance.exceeded == 0:
        return f"less than {_percent(chance.high, up=True)}"
    if chance.exceeded == chance.count:
        return f"more than {_percent(chance.low, up=False)}"
    low, high = _percent(chance.low, up=False), _percent(chance.high, up=True)
    return f"{_percent(chance.share)} ({low} to {high})"


def _percent(share: float, *, up: bool | None = None) -> str:
    """Per cent to a tenth, or a hundredth where it is less; ``up``: rounded outwards."""
    percent = 100 * share
    places = 1 if percent >= 0.1 else 2
    if up is not None:
        tick = 10**places
        percent = (math.ceil if up else math.floor)(percent * tick - (1e-9 if up else -1e-9)) / tick
    return f"{fixed(percent, places)} %"


def matters(found: TolerancesResult, band: Band, most: int = 2) -> str:
    """What matters most to a number: shares of its variance, total Sobol' or linear.

    Where samples were asked for and no fit holds, that is said.
    """
    shares = shares_of(found, band)
    if shares is None:
        return "no fit" if band.spread is not None else "–"
    named = sorted(zip(shares, found.tolerances, strict=True), key=lambda p: -p[0])[:most]
    return ", ".join(f"{t.quantity} {fixed(100 * s, 0)} %" for s, t in named if s >= 0.05) or "–"


def shares_of(found: TolerancesResult, band: Band) -> tuple[float, ...] | None:
    """Share of a number's variance by each tolerance (k,): total Sobol' indices, else by the rates."""
    if band.spread is not None:
        return band.spread.importance.total
    return linear_shares(found, band)


def linear_shares(found: TolerancesResult, band: Band) -> tuple[float, ...] | None:
    """Shares of the variance by the rates alone."""
    parts = [(c * t.deviation) ** 2 for c, t in zip(band.changes, found.tolerances, strict=True)]
    whole = sum(parts)
    return tuple(p / whole for p in parts) if whole > 0 else None


def shown_bands(found: TolerancesResult) -> list[Band]:
    """Those worth a row: no movements that nobody could see."""
    return [band for band in found.bands if not band.negligible]


def band_columns(found: TolerancesResult) -> list[str]:
    """Heads of the rows of bands."""
    sampled = ["median", "2.5 %", "97.5 %"] if found.samples else []
    return ["number", "load case", "unit", "value", "from", "to", "worst ±", *sampled, "matters most"]


def band_rows(found: TolerancesResult, units: System) -> list[list[str]]:
    """A row for each number: value, linear band, worst case, what the samples say, what matters."""
    out = []
    for band in shown_bands(found):
        by = factor(band.unit, units)
        row = [
            band.name + (" *" if band.differs else ""),
            band.case,
            unit_label(band.unit, units),
            *(number(v * by) for v in (band.value, band.low, band.high, band.worst)),
        ]
        if found.samples:
            s = band.spread
            row += ["–"] * 3 if s is None else [_end(s.median, by), _end(s.low, by), _end(s.high, by)]
        out.append([*row, matters(found, band)])
    return out


def _end(value: float, by: float) -> str:
    return "no end" if math.isinf(value) else number(value * by)


def chance_rows(found: TolerancesResult) -> tuple[list[list[str]], str]:
    """Limits that samples exceeded, or that are near; and the rest in a sentence."""
    listed = [c for c in found.chances if c.exceeded or c.used >= _NEAR][:_MOST_ROWS]
    rest = [c for c in found.chances if c not in listed]
    rows = [[c.name, c.case, fixed(c.used, 2), _often(c), probability(c)] for c in listed]
    if found.any_limit is not None:
        any_limit = found.any_limit
        rows.append(["any limit", "", "", _often(any_limit), probability(any_limit)])
    words = ""
    if rest:
        worst = max(rest, key=lambda c: (c.exceeded, c.high))
        most = " at most" if worst.exceeded else ""
        others = "1 other limit" if len(rest) == 1 else f"{len(rest)} other limits, each"
        words = f"{others}: {chance_words(worst)}{most}."
    return rows, words


def _often(chance: Chance) -> str:
    return f"{chance.exceeded} of {chance.count}"


def remarks(found: TolerancesResult) -> Iterator[str]:
    """What else is to be known of the samples."""
    if not found.samples:
        yield "No samples were drawn: there are bands, and no probabilities."
        return
    yield f"{found.samples} samples, seed {found.seed}: the same seed gives the same samples."
    if found.refused:
        yield f"{found.refused} of them cannot be built, and count as exceeding every limit."
    missing = {
        b.case: found.samples - b.spread.count
        for b in found.bands
        if b.spread is not None and b.case and b.spread.count < found.samples - found.refused
    }
    for case, count in missing.items():
        yield f"{case}: unstable in {count} samples, which count as moving without end."
    errors = [
        b.spread.importance.error
        for b in shown_bands(found)
        if b.spread is not None and b.spread.importance.total is not None
        and b.spread.importance.error is not None
    ]  # fmt: skip
    if errors:
        yield (
            "What matters most: total Sobol' indices, shares of the variance, of a quadratic fitted to "
            "the samples. Foretelling each sample from all others, it misses "
            f"{_tiny(max(errors))} of a number's variance at most; where it would miss more than 5 %, "
            "no share is given."
        )
    else:
        yield (
            "What matters most is not given: no quadratic fits these samples, or they are too few (twice"
            f" its coefficients are needed, {_needed(len(found.tolerances))} samples)."
        )


def _tiny(share: float) -> str:
    return "less than 0.1 %" if share < 1e-3 else f"{fixed(100 * share, 1)} %"


def _needed(inputs: int) -> int:
    return (inputs + 1) * (inputs + 2)


def tolerance_sections(masts: Sequence[MastResult], units: System) -> list[dict[str, Any]]:
    """The report's section, one entry a mast that was asked."""
    out = []
    for letter, m in zip(letters(masts), masts, strict=True):
        found = m.tolerances
        if found is None:
            continue
        rows, words = chance_rows(found)
        out.append(
            {
                "letter": letter,
                "title": f"{letter}  {called(m)}",
                "head": headline_words(m, units),
                "tolerances": _table(
                    ["what scatters", "limits", "taken as", "from"],
                    "llll", tolerance_rows(found, units), (1.2, 1.1, 1.4, 5.0),
                ),
                "bands": _bands_table(found, units),
                "chances": _chances_table(rows) if found.samples else None,
                "words": [tidy(w) for w in (words, *remarks(found)) if w],
            }
        )  # fmt: skip
    return out


def tolerance_words(masts: Sequence[MastResult]) -> dict[str, Any]:
    """What is said once for all masts: how it was reckoned, and what it does not hold."""
    sampled = any(m.tolerances is not None and m.tolerances.samples for m in masts)
    return {
        "method": [tidy(words) for words in (METHOD, *([SAMPLED] if sampled else []))],
        "cautions": [tidy(words) for words in CAUTIONS],
    }


def _bands_table(found: TolerancesResult, units: System) -> Table:
    columns = band_columns(found)
    numbers = len(columns) - 4
    align = "lll" + "r" * numbers + "l"
    return _table(columns, align, band_rows(found, units), (1.5, 1.3, 1.35, *[0.75] * numbers, 2.0))


def _chances_table(rows: list[list[str]]) -> Table:
    return _table(
        ["limit", "load case", "used as stated", "exceeded", "probability"],
        "llrrl", rows, (3.4, 1.4, 1.0, 1.1, 2.2),
    )  # fmt: skip


def _table(columns: list[str], align: str, rows: list[list[str]], weights: tuple[float, ...]) -> Table:
    cells: list[list[Cell]] = [[tidy(cell) for cell in row] for row in rows]
    return table(columns, align, cells, weights)
