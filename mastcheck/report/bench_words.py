"""A bench fit in plain words, made from its numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mastcheck.bench.choose import LEVEL
from mastcheck.bench.design import PARAMETERS_AT_TIP
from mastcheck.bench.fit import BenchFit, Status, Unknown
from mastcheck.bench.readings import GRAVITY, Direction, Gauge, GaugeKind, Load, Reading
from mastcheck.bench.series import Series
from mastcheck.bench.suggest import Suggestion
from mastcheck.bench.summary import Part, Softness
from mastcheck.report.display import System, factor, fixed, number, quantity, stated, unit_label

NAMES = {
    "EI_side": "the blade", "EI_fore_aft": "the blade", "GJ": "the blade",
    "base_roll": "the base joint", "base_pitch": "the base joint", "base_twist": "the base joint",
    "tip_roll": "the tip joint", "tip_pitch": "the tip joint", "tip_twist": "the tip joint",
}  # fmt: skip
TITLES = {
    "EI_side": "blade, EI_side", "EI_fore_aft": "blade, EI_fore_aft", "GJ": "blade, GJ",
    "base_roll": "base joint in roll", "base_pitch": "base joint in pitch",
    "base_twist": "base joint in twist", "tip_roll": "tip joint in roll",
    "tip_pitch": "tip joint in pitch", "tip_twist": "tip joint in twist",
}  # fmt: skip
CHECK_FIRST = {
    "the base joint": "check the plate screws first, then the plate's seat and whether the bench moves",
    "the tip joint": "check the screws and the fit at the foil first",
    "the blade": "check wall, sizes and material first: a thin wall is also weaker than calculated",
}
WAYS = {"side": "side bending", "fore-aft": "fore-aft bending", "twist": "twist"}
HALF_SPAN = 0.4
"""Wing's half span at which lost motion is told where no wing is stated [m]."""
_SHIFTED = 3.0  # standard errors that a zero shift or a hysteresis must exceed to be spoken of
_LAGGING = 0.02  # of the range


def percent(share: float) -> str:
    """A share as whole per cent, or a decimal where small."""
    value = abs(100 * share)
    return fixed(value, 0 if value >= 9.5 else 1)


def softness_words(s: Softness) -> str:
    """One direction in a sentence."""
    way = WAYS[s.direction]
    if s.softer is None or s.interval is None:
        if not s.held:
            return f"{way}: not looked into, no reading shows it"
        return f"{way}: these readings are too few or too coarse to say anything"
    much = f"{percent(s.softer)} % (± {percent(s.interval)})"
    if abs(s.softer) <= s.interval:
        start = f"{way}: as calculated within ± {percent(s.interval)} %"
    else:
        start = f"measured {much} {'softer' if s.softer > 0 else 'stiffer'} in {way} than calculated"
    apart = [p for p in s.parts if p.interval is not None and abs(p.share) > p.interval]
    if s.held and s.parts:
        fitted = _listed([NAMES[p.name] for p in s.parts])
        others = _listed(sorted({NAMES[n] for n in s.held}))
        note = (
            f"these readings cannot tell {fitted} from {others}; all of it is put on {fitted}, "
            f"with {others}"
            " as calculated"
        )
        return f"{start}: {note}{_advice(s, s.parts[0])}"
    if abs(s.softer) <= s.interval and not apart:
        return start
    said = _listed([_part_words(p, first=i == 0) for i, p in enumerate(_ordered(s))])
    worst = max(s.parts, key=lambda p: p.share)
    return f"{start}: {said}{_advice(s, worst)}"


def _advice(s: Softness, worst: Part) -> str:
    """What to check first; nothing where the direction is as calculated."""
    if s.softer is None or s.interval is None or abs(s.softer) <= s.interval:
        return ""
    if s.softer < 0:
        return "; check the load, its place, the length that was clamped and the units"
    return f"; {CHECK_FIRST[NAMES[worst.name]]}"


def _ordered(s: Softness) -> list[Part]:
    return sorted(s.parts, key=lambda p: -abs(p.share))


def _part_words(p: Part, *, first: bool) -> str:
    off = f" (± {percent(p.interval)})" if p.interval is not None else ""
    if p.interval is not None and abs(p.share) <= p.interval:
        return f"{NAMES[p.name]} is as calculated within ± {percent(p.interval)}"
    sign = "" if p.share > 0 else "−"
    verb = f" explains {sign}{percent(p.share)}{off}" if first else f" {sign}{percent(p.share)}{off}"
    return f"{NAMES[p.name]}{verb}{' of it' if first else ''}"


def play_words(fit: BenchFit, units: System) -> Iterator[str]:
    """Free play found, and the least that would have shown."""
    for p in fit.plays:
        joint, turn = p.name.split("_")
        if p.status is Status.FITTED and p.interval is not None:
            arm = HALF_SPAN if turn == "twist" else fit.model.length
            where = (
                f"{stated(1e3 * HALF_SPAN, 'mm', units)} out on a wing"
                if turn == "twist"
                else "at the tip"
            )
            lost = quantity(1e3 * arm * p.value, "mm", units, 2)
            check = (
                "plate screws and the plate's seat" if joint == "base" else "screws and fit at the foil"
            )
            yield (
                f"free play of {_degrees(p.value)} (± {_degrees(p.interval)}) in {turn} at the "
                f"{joint} joint:"
                f" {lost} of lost motion {where}; check the {check}"
            )
        elif p.interval is not None:
            yield f"no free play in {turn} at the {joint} joint above {_degrees(p.interval)} shows"


def series_words(fit: BenchFit, units: System) -> Iterator[str]:
    """Hysteresis and zero shifts that are more than errors of reading."""
    for s in fit.series:
        sigma = float(fit.sigma[s.rows[0]])
        place = series_name(s, units)
        if s.hysteresis is not None and s.lags and s.range > 0:
            error = sigma * math.sqrt(2 / max(s.pairs, 1))
            if abs(s.hysteresis) > max(_SHIFTED * error, _LAGGING * s.range):
                share = percent(s.hysteresis / s.range)
                side = "more" if s.hysteresis > 0 else "less"
                yield (
                    f"{place}: unloading reads {reading_text(abs(s.hysteresis), s.gauge, units)} "
                    f"{side} than"
                    f" loading, {share} % of the range: friction in a joint, or a clamp that creeps"
                )
        if s.zero_shift is not None and abs(s.zero_shift) > _SHIFTED * sigma * math.sqrt(2):
            yield (
                f"{place}: the reading without load moved by "
                f"{reading_text(s.zero_shift, s.gauge, units)}:"
                " something settled or slipped; tighten, note a new run and read again"
            )


def outlier_words(fit: BenchFit, units: System) -> Iterator[str]:
    """Readings that lie too far out, each with its line."""
    for i, r in enumerate(fit.readings):
        if not fit.flagged[i]:
            continue
        read = reading_text(r.value - float(fit.zero[i]), r.gauge, units)
        should = reading_text(float(fit.fitted[i]), r.gauge, units)
        yield (
            f"line {r.line}: {gauge_name(r.gauge, units)} under {load_text(r, units)} read {read} "
            f"(less its"
            f" zero) where the others say {should}, {abs(fit.studentised[i]):.0f} standard errors "
            f"off: set aside,"
            " not used; read it again"
        )
    if fit.suspicious:
        yield (
            "more than a tenth of the readings lie too far out for chance: the mast, the set-up or the"
            " readings are not as described, and the errors stated here cannot be relied on"
        )


def suggestion_words(fit: BenchFit, found: tuple[Suggestion, ...], units: System) -> Iterator[str]:
    """What cannot be told apart, with the readings that would tell it."""
    by_name = {s.name: s for s in found}
    unseen = []
    for u in fit.unknowns:
        s = by_name.get(u.name)
        if u.status in (Status.FITTED, Status.AT_BOUND):
            continue
        if s is None and u.status is Status.NOT_SEEN:
            unseen.append(u.name)
            continue
        title = TITLES[u.name]
        why = (
            "cannot be told from the others by these readings"
            if u.status is Status.NOT_SEPARATED
            else "no reading shows it"
        )
        if s is None:
            yield f"{title}: {why}; held as calculated; finer gauges or larger weights are needed"
            continue
        where = _listed([gauge_name(g, units) for g in s.gauges])
        mass = load_amount(s.load, s.amount, units)
        arm = f" on an arm of {stated(1e3 * s.load.arm, 'mm', units)}" if s.load.arm else ""
        leaves = f"its error would be {percent(s.after)} % of the tip's movement"
        end = leaves if s.enough else f"{leaves}, still too much to fit it: use a finer gauge as well"
        on = " on the foil" if s.load.part == "foil" else ""
        yield (
            f"{title}: {why}; held as calculated. To separate it, hang {mass} at the tip{on}{arm} "
            f"and read the"
            f" {where}, four times each with as many zeros: {end}"
        )
    plain = [TITLES[n] for n in unseen if n not in PARAMETERS_AT_TIP and n != "tip_twist"]
    if plain:
        yield (
            f"{_listed(plain)}: no reading shows it; held as calculated; --plan gives weights and places"
        )
    if "tip_twist" in unseen:
        yield (
            f"{TITLES['tip_twist']}: no reading shows it; held as calculated; hang a weight on the foil"
            " on an arm and read the twist of foil and blade tip"
        )
    tips = [TITLES[n] for n in unseen if n in PARAMETERS_AT_TIP]
    if tips:
        yield f"{_listed(tips)}: held as calculated; no weight hung at the tip bends it"


def noise_words(fit: BenchFit, units: System) -> Iterator[str]:
    """Where the errors come from."""
    for c in fit.noise.classes:
        size = (
            f"{number(math.degrees(c.size), 2)}°"
            if c.is_angle
            else quantity(1e3 * c.size, "mm", units, 2)
        )
        gauge = f"{c.kind} gauges" + (" in pairs" if c.paired else "")
        how = "from the scatter about the fit" if c.found else "assumed: too few readings to tell"
        yield f"standard error of {gauge}: {size}, {how}"
    if fit.noise.stated:
        yield "readings are weighted by their stated errors; scatter may enlarge, never shrink them"
    if not fit.noise.stated and fit.noise.classes:
        yield "an assumed error stands where the scatter alone would claim less"
    degrees = f"{fit.dof} degree{'' if fit.dof == 1 else 's'} of freedom"
    yield (
        f"± are {100 * LEVEL:.0f} % intervals (Student's t, {degrees}), random errors of"
        " reading alone: a wrong weight, place or length is not in them"
    )
    if fit.second_order:
        yield "predictions are corrected for second order, which moves some by more than 1 %"


def assumptions() -> list[str]:
    """What every fit rests on."""
    return [
        "the blade's bending and twist are linear in its stiffness, one factor over the whole "
        "length each",
        "shear flexibility stays as calculated; warping stiffness goes with GJ",
        "a bench, a clamp or a plate that moves is read as a soft base joint: check with a second ruler",
        "no prior is used: what the readings cannot tell is held as calculated and named",
        "free play is looked for where loads push to both sides; one side alone shows nothing of a "
        "gap's width",
    ]


def unknown_row(u: Unknown, units: System) -> tuple[str, str, str, str, str]:
    """Name with its unit, calculated, fitted, ±, share of the tip's movement with ±: a table's row."""
    blade = u.name in ("EI_side", "EI_fore_aft", "GJ")
    unit = "deg per 10 N·m"
    title = TITLES[u.name] if blade else f"{TITLES[u.name]} [{unit_label(unit, units)}]"
    by = math.degrees(10.0) * factor(unit, units)

    def value(compliance: float) -> str:
        if blade:
            return f"× {fixed(1 / compliance, 3)}"
        return "rigid" if compliance == 0 else number(by * compliance, 3)

    if u.error is None or u.interval is None:
        return title, value(u.nominal), "–", "–", str(u.status)
    off = fixed(u.interval / u.value**2, 3) if blade else number(by * u.interval, 2)
    share = (u.value - u.nominal) * u.share
    moved = f"{'−' if share < 0 else '+'}{percent(share)} % ± {percent(u.interval * u.share)}"
    note = "" if u.status is Status.FITTED else f", {u.status}"
    return title, value(u.nominal), value(u.value), f"± {off}", moved + note


def reading_text(value: float, gauge: Gauge, units: System) -> str:
    """A movement or a turn."""
    if gauge.kind is GaugeKind.TWIST:
        return f"{fixed(math.degrees(value), 2)}°"
    return (
        f"{fixed(1e3 * value * (1 if units == 'metric' else 1 / 25.4), 2 if units == 'metric' else 3)} "
        + ("mm" if units == "metric" else "in")
    )


def gauge_name(gauge: Gauge, units: System) -> str:
    """A gauge by what it reads and where."""
    foil = " on the foil" if gauge.part == "foil" else ""
    arm = f", {stated(1e3 * gauge.arm, 'mm', units)} out" if gauge.arm else ""
    return f"{gauge.kind} gauge at z = {stated(round(1e3 * gauge.z, 3), 'mm', units)}{arm}{foil}"


def series_name(s: Series, units: System) -> str:
    """A series by its gauge and labels."""
    labels = [f"run {s.run}"] * bool(s.run) + [f"repeat {s.repeat}"] * bool(s.repeat)
    return ", ".join([gauge_name(s.gauge, units), *labels])


def load_amount(load: Load, amount: float, units: System) -> str:
    """A load as it was hung."""
    if load.direction is Direction.TORQUE:
        return quantity(amount, "N·m", units, 3)
    return stated(round(amount / GRAVITY, 4), "kg", units)


def load_text(r: Reading, units: System) -> str:
    """A reading's load and where it hangs."""
    if r.amount == 0:
        return "no load"
    arm = f", {stated(round(1e3 * r.load.arm, 3), 'mm', units)} out" if r.load.arm else ""
    at = stated(round(1e3 * r.load.z, 3), "mm", units)
    return f"{load_amount(r.load, r.amount, units)} at z = {at}{arm}"


def _degrees(angle: float) -> str:
    return f"{number(math.degrees(angle), 2)}°"


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
