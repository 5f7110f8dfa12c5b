"""A sized mast in tables and sentences, for whoever prints them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mastcheck.checks.buildability import notes
from mastcheck.report.display import System, fixed, number, quantity
from mastcheck.search.size import AGREE, agree
from mastcheck.search.size_limits import Use, unjudged
from mastcheck.search.size_result import AtBound, Design, Price, Run, SideStep, Sized
from mastcheck.search.size_space import LEAST, MOST, Free

MISSING = "–"
BALANCED = 0.02
"""Slope left unbalanced, as a share of that of the mass, up to which an answer counts as proved."""
NEAR = 0.9
"""Limits used this much are shown beside those that govern."""
_MOST_SHOWN = 8
_NO_MASS = 1e-7  # kg: a turned ply changes a mass by no more than arithmetic leaves

NO_RESERVE = (
    "A mast sized so has no reserve beyond the factors of its load cases: each governing limit is used"
    " in full, at exactly these sizes and this material. Walls, chords, materials and loads scatter:"
    " leave room for it, or set tighter limits."
)
LOCAL = (
    "What is found is the lightest in its neighbourhood, by this model and these limits; it is not"
    " proved that no mast far from all starts is lighter. Sizes that were not named, outlines and"
    " materials stayed as they are."
)


def headline(sized: Sized, units: System) -> str:
    """The answer in a sentence."""
    if sized.best is None:
        return "No mast within these bounds could be checked."
    if not sized.found:
        worst = sized.best.worst
        if worst is None or worst.used <= 1:
            return "No mast within these bounds holds: " + _doubt(sized)
        return (
            "No mast within these bounds meets its limits. In the way:"
            f" {limit_words(worst)}, {percent_used(worst)} used at best."
        )
    # What a search stopped at, for a check that jumps or a slope left over, is not called the least.
    proved = sized.remainder < BALANCED and not sized.jumps
    what = (
        "Lightest mast that meets its limits"
        if proved
        else ("A mast that meets its limits, NOT proved to be the lightest")
    )
    words = f"{what}: {mass(sized.best.mass, units)}"
    if not sized.given.refused:
        change = sized.best.mass - sized.given.mass
        share = abs(change) / sized.given.mass * 100
        way = "lighter" if change <= 0 else "heavier"
        words += f", {mass(abs(change), units)} ({fixed(share, 1)} %) {way} than as given"
        if not sized.given.holds:
            words += ", which does not meet them"
    return words + "."


def _doubt(sized: Sized) -> str:
    result = sized.result
    if result is None:
        return "none could be checked."
    unstable = [case.case.name for case in result.cases if not case.stable]
    if unstable:
        return f"{', '.join(unstable)} finds no stable balance."
    failed = [c.name for c in result.self_checks if c.verdict == "fail"]
    return f"a self-check fails ({', '.join(failed)}), so that its numbers are in doubt."


def mass(kilograms: float, units: System) -> str:
    """A mass to a gram."""
    if units == "imperial":
        return quantity(kilograms, "kg", units, 4)
    if abs(kilograms) < 1:
        return f"{fixed(1000 * kilograms, 0)} g"
    return f"{fixed(kilograms, 3)} kg"


def size_text(free: Free, value: float, units: System) -> str:
    """A size as it is printed."""
    if free.is_angle:
        return f"{fixed(math.degrees(value), 1)}°"
    return quantity(value * 1e3, "mm", units, 4)


def limit_words(use: Use) -> str:
    """A limit and its case."""
    what, case = use.name
    what = "buckling or flutter" if what == "stability" else what
    return f"{what} ({case})" if case else what


def percent_used(use: Use) -> str:
    """How much of a limit is used."""
    return "∞" if math.isinf(use.used) else f"{fixed(100 * use.used, 1)} %"


def sizes_table(sized: Sized, units: System) -> tuple[list[str], list[list[str]]]:
    """Heads, and a row for each size before and after, with its bounds; mass and use below."""
    designs = [d for d in (sized.given, sized.best, sized.rounded) if d is not None]
    heads = ["as given", "found" if sized.found else "nearest", "rounded"][: len(designs)]
    rows = []
    for free in sized.free:
        cells = [size_text(free, d.settings[free.key], units) for d in designs]
        ends = [size_text(free, end, units) for end in (free.low, free.high)]
        rows.append([free.key, *cells, *ends])
    rows.append(["mass", *(MISSING if d.refused else mass(d.mass, units) for d in designs), "", ""])
    worst = [MISSING if (w := d.worst) is None else percent_used(w) for d in designs]
    rows.append(["limits used, at most", *worst, "", ""])
    return ["", *heads, "from", "to"], rows


def limits_table(sized: Sized, units: System) -> tuple[list[str], list[list[str]]]:
    """The limits that govern, and those near: value, limit, use, and what 1 % more of it would save."""
    if sized.best is None:
        return [], []
    last = "1 % more saves" if sized.found else "share"
    forces = {g.use.name: g.force for g in sized.governing if g.force > 1e-6}
    near = [u for u in sized.best.uses.values() if u.used >= NEAR or u.name in forces]
    rows = []
    for use in sorted(near, key=lambda u: (-forces.get(u.name, 0.0), -u.used))[:_MOST_SHOWN]:
        force = forces.get(use.name)
        if force is None:
            says = MISSING
        elif sized.found:
            says = _grams(force * sized.best.mass / 100, units)
        else:
            says = f"{fixed(100 * force, 0)} %"
        rows.append([limit_words(use), _value(use.value, use, units), _value(use.limit, use, units),
                     percent_used(use), says])  # fmt: skip
    return ["limit", "value", "allowed", "used", last], rows


def _value(value: float | None, use: Use, units: System) -> str:
    if value is not None and math.isinf(value):
        return "∞"
    return quantity(value, use.unit, units, 4)


def _grams(kilograms: float, units: System) -> str:
    """A small mass, in grams or ounces."""
    if units == "imperial":
        return f"{number(kilograms / 0.45359237 * 16, 2)} oz"
    return f"{number(1000 * kilograms, 2)} g"


def steps_table(sized: Sized, units: System) -> tuple[list[str], list[list[str]]]:
    """Each size a step smaller and larger: what it weighs then, and whether it still holds."""
    by_key = {f.key: f for f in sized.free}
    rows = []
    for step in sized.steps:
        if sized.best is None:
            continue
        free, value = by_key[step.key], step.design.settings[step.key]
        change = "–" if step.design.refused else _signed_grams(step.design.mass - sized.best.mass, units)
        now = sized.best.settings[step.key]
        sign = "+" if value > now else "-"
        by = "1°" if free.is_angle else "1 %"
        rows.append([step.key, f"{sign}{by}", size_text(free, value, units), change, _outcome(step)])
    return ["size", "step", "to", "mass", "then"], rows


def _signed_grams(kilograms: float, units: System) -> str:
    if abs(kilograms) < _NO_MASS:
        return _grams(0.0, units)
    return ("+" if kilograms > 0 else "-") + _grams(abs(kilograms), units)


def _outcome(step: SideStep) -> str:
    design = step.design
    if design.refused:
        words = f"cannot be built: {design.refused}"
    elif design.holds:
        words = "holds"
        if (worst := design.worst) is not None:
            words += f", {percent_used(worst)} used at most"
    elif (worst := design.worst) is not None and worst.used > 1:
        words = f"fails: {limit_words(worst)}, {percent_used(worst)}"
    else:
        words = "fails: no stable balance, or a self-check"
    return f"{words}; beyond the bounds" if step.beyond else words


def proof(sized: Sized, units: System) -> Iterator[str]:
    """What the steps and forces show of the answer, the honest doubts among it."""
    best = sized.best
    if best is None:
        return
    if sized.found:
        yield _alone(sized, best)
        yield _together(sized)
    for bound in sized.at_bounds:
        yield _bound(sized, bound, units)
    for jump in sized.jumps:
        what, case = jump.name
        yield (
            f"{what} ({case}) JUMPS from {fixed(100 * jump.before, 0)} % to"
            f" {fixed(100 * jump.after, 0)} % over a step of {jump.key}: its worst place is a peak that"
            " hangs on the mesh or on a corner, so that neither this answer nor its neighbours can be"
            " relied on to hold it; take sizes with more room"
        )
    if sized.blocked:
        yield f"the search was stopped by what cannot be built: {sized.blocked}"


def _alone(sized: Sized, best: Design) -> str:
    lighter = {
        s.key
        for s in sized.steps
        if s.design.holds and not s.beyond and s.design.mass < best.mass * (1 - 1e-6)
    }
    if lighter:
        names = ", ".join(sorted(lighter))
        return (
            f"NOT proved: a step of {names} alone is lighter and holds; give narrower bounds around it"
        )
    return "no size can be made lighter by a step alone within its bounds: a limit fails each time"


def _together(sized: Sized) -> str:
    rest = f"{fixed(100 * sized.remainder, 1)} %"
    if sized.remainder < BALANCED:
        ends = "so that no small change of them all is lighter"
    else:
        ends = "so that it is NOT proved to be the least: a change of several at once may be lighter"
    return (
        f"all sizes together: the governing limits and bounds balance all but {rest} of the slope of the"
        f" mass, {ends} (first order, exact sensitivities)"
    )


def _bound(sized: Sized, bound: AtBound, units: System) -> str:
    free = next(f for f in sized.free if f.key == bound.key)
    end = free.high if bound.upper else free.low
    way = "upper" if bound.upper else "lower"
    words = f"{bound.key} ends at its {way} bound, {size_text(free, end, units)}"
    if bound.force <= 1e-6 or sized.best is None:
        return words
    if not sized.found:
        return f"{words}, and is stopped there: what is in the way would be eased beyond it"
    if free.is_angle:
        return f"{words}; a mast beyond it would be lighter"
    return f"{words}: 1 % beyond it would save {_grams(bound.force * sized.best.mass / 100, units)}"


def prices(sized: Sized, units: System) -> Iterator[str]:
    """What a heavier rider and a longer mast cost, in a sentence each."""
    for price in sized.prices:
        yield f"{_price_words(price, units)} {_grams(abs(price.mass), units)}"


def _price_words(price: Price, units: System) -> str:
    way = "costs" if price.mass >= 0 else "saves"
    if price.key == "rider":
        return f"each {quantity(price.step, 'kg', units, 2)} of rider more {way} about"
    return f"each {quantity(price.step * 1e3, 'mm', units, 2)} of length more {way} about"


def starts(sized: Sized, units: System) -> Iterator[str]:
    """Where it was searched from, and whether all ends agree."""
    ends = []
    for i, run in enumerate(sized.runs):
        where = "the mast as given" if i == 0 else _settings(sized, run, units)
        ends.append(f"from {where}: {_end(run, units)}")
    yield f"{sized.checks} designs checked, searched " + "; ".join(ends)
    held = [run for run in sized.runs if run.end is not None and run.end.holds]
    if sized.found and not agree(sized):
        yield (
            f"the starts do NOT end at the same mass (more than {100 * AGREE:g} % apart): there are"
            " several neighbourhoods, and a lighter one may not have been met; narrow the bounds to look"
            " in each"
        )
    elif sized.found and len(held) > 1:
        yield f"all that met the limits end within {100 * AGREE:g} % of the same mass"


def _settings(sized: Sized, run: Run, units: System) -> str:
    return ", ".join(f"{f.key} {size_text(f, run.start.settings[f.key], units)}" for f in sized.free)


def _end(run: Run, units: System) -> str:
    if run.end is None:
        return f"no design there could be checked ({run.start.refused or 'no neighbours'})"
    if not run.end.holds:
        worst = run.end.worst
        used = "" if worst is None else f", {limit_words(worst)} {percent_used(worst)}"
        return f"no mast that holds{used}"
    return mass(run.end.mass, units) + ("" if run.converged else " (not converged)")


def remarks(sized: Sized) -> Iterator[str]:
    """Bounds that nobody stated, what was not judged, and what a shop would ask."""
    assumed = [f.key for f in sized.free if not f.stated]
    turned = [f.key for f in sized.free if not f.stated and f.is_angle]
    if sizes := [key for key in assumed if key not in turned]:
        yield f"bounds of {', '.join(sizes)} assumed: {LEAST:g} to {MOST:g} times the size as given"
    if turned:
        yield f"bounds of {', '.join(turned)} assumed: -90° to 90°"
    result = sized.result
    if result is None:
        return
    if result.job.limits == ():
        yield "no limit on movement is set ([limits]): sized for strength and stability alone"
    if left := unjudged(result):
        yield f"not judged, for want of a limit or a strength: {', '.join(left)}"
    if sized.found and sized.rounded is None and sized.best is not None:
        yield "sizes are not rounded to what can be made: ask for --round 0.1mm"
    seen: set[str] = set()
    for k, place in ((0, "base"), (len(result.z) - 1, "tip")):
        for note in notes(result.job, float(result.z[k]) / result.job.mast.length, result.sections[k]):
            if note.beyond and note.text not in seen:
                seen.add(note.text)
                yield f"buildability at the {place}: {note.text} ({note.basis})"


def cautions(sized: Sized) -> tuple[str, ...]:
    """Those of sizing, then those of the check of the mast found."""
    own = (NO_RESERVE, LOCAL) if sized.found else (LOCAL,)
    return (*own, *(() if sized.result is None else sized.result.cautions))
