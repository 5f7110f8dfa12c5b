"""The test sheet: cautions, set-ups, predicted readings, play, when to stop; and a blank CSV."""

from __future__ import annotations

import csv
import hashlib
import io
import math
from typing import Any

from mastcheck.bench.plan import (
    ANGLE,
    ARM,
    DIAL,
    MOST_STRAIN,
    MOST_USED,
    PAIR,
    RULER,
    Expected,
    Plan,
    Step,
)
from mastcheck.bench.readings import GaugeKind
from mastcheck.job import Job
from mastcheck.report import inputs
from mastcheck.report.cells import Cell, Table, table, tidy
from mastcheck.report.display import System, factor, fixed, given, number, plain, stated, unit_label
from mastcheck.report.identity import canonical
from mastcheck.report.pdf import set_page
from mastcheck.spreadsheet import remark

TITLES = {"side": "Side bending", "fore-aft": "Fore-aft bending", "twist": "Twist"}

CAUTIONS = (
    "A loaded mast stores energy and can break or slip off: never stand under it, beside it or in "
    "line with it",
    "Hang weights low, a hand's width above the floor or a box, with a second strap as a catch; "
    "add and take off "
    "by small steps",
    "Wear shoes and eye protection; keep others out of reach of the mast",
    "Stop at once at a crack, a creak or a jump, when a reading lies past its band by a third or "
    "more, when it "
    "creeps under a steady load, or when it does not come back to zero",
    "Bolts, plate and bench are not judged here: see them for yourself before the first weight",
)

CLAMP = (
    "Bolt the base plate, with its own screws at their own torque, to a bench or a wall that does "
    "not move; the "
    "mast stands out level",
    "Lay a second ruler or dial against the plate's edge and read it under the largest weight: "
    "what moves there is "
    "the bench, and would be taken for a soft base joint",
    "Put every gauge on its own stand on the floor, not on the bench; write a new run whenever one "
    "was moved",
    "Read zero, each weight going up, each going down, and zero again; three times if you can",
)


def setup_words(step: Step, taper_about: float, units: System) -> str:
    """How to set one step up; arms are taken from the stacking line, ``taper_about`` of the chord."""
    middle = (
        "the middle of the chord" if taper_about == 0.5 else f"the line at {taper_about:g} of the chord"
    )
    arm = stated(1e3 * ARM, "mm", units)
    if step.name == "side":
        return f"chord level, port side down; hang the weights at the tip, on {middle}"
    if step.name == "fore-aft":
        return "mast turned a quarter, trailing edge down; hang the weights at the tip, below the blade"
    return (
        f"chord level, port side down; clamp a stiff bar across the tip; hang each weight first "
        f"{arm} aft of "
        f"{middle}, then {arm} ahead of it, the gauges left alone: the readings turn their sign"
    )


def gauge_words(step: Step, units: System) -> str:
    """What to read with; dials at the places marked."""
    pair = stated(1e3 * PAIR, "mm", units)
    ruler, dial = (stated(round(1e3 * e, 4), "mm", units) for e in (RULER, DIAL))
    if step.name == "twist":
        coarse = f"an angle gauge of {fixed(math.degrees(ANGLE), 1)}° on a bar clamped at each place"
        fine = f"two dial gauges {pair} apart on that bar: twist is their difference over {pair}"
    else:
        coarse = f"a ruler (error of reading taken as {ruler})"
        fine = f"a dial gauge ({dial})"
    marked = [e.dial for e in step.expected]
    if all(marked):
        return f"{fine}; all else is too coarse here"
    return f"{coarse}; where marked dial, {fine}" if any(marked) else coarse


def play_words(step: Step, units: System) -> str:
    """What would be play."""
    size = (
        f"{number(math.degrees(step.play), 2)}°"
        if step.name == "twist"
        else stated(round(1e3 * step.play, 4), "mm", units)
    )
    first = stated(step.masses[0], "kg", units)
    if step.name == "twist":
        return (
            f"play: draw the readings of the tip over the weight, both arms; where the two "
            f"straight lines miss "
            f"each other at no weight by more than {size}, that step is the free play"
        )
    return (
        f"play: lift the tip by hand against its own weight and let it down; where it moves more "
        f"than {size} before "
        f"it pushes back, or the step to {first} is more than {size} above the straight line of "
        f"the others, it is play"
    )


def stop_words(step: Step, units: System) -> str:
    """When to stop."""
    most = given(math.floor(step.stop_mass * factor("kg", units) * 10) / 10)
    unit = unit_label("kg", units)
    top = stated(step.masses[-1], "kg", units)
    if step.utilisation is None:
        why = f"strain at most {1e3 * MOST_STRAIN:g} ‰ there, since no strength is stated"
    else:
        why = (
            f"{top} use {fixed(100 * step.utilisation, 0)} % of the blade's design strength, and "
            f"{fixed(100 * MOST_USED, 0)} % is the most on a bench"
        )
    return f"stop: never more than {most} {unit}; {why}"


def assumptions(plan: Plan) -> list[str]:
    """What the bands are made of."""
    t = plan.tolerance
    return [
        "bands: "
        + ", ".join(t.words)
        + " (what the mast file does not state: common practice, no source), by the root of the sum of "
        f"squares ± {fixed(100 * t.EI_side, 0)} % on EI_side, {fixed(100 * t.EI_fore_aft, 0)} % on "
        f"EI_fore_aft, "
        f"{fixed(100 * t.GJ, 0)} % on GJ, and the error of reading",
        "readings are predicted with the joints of the mast file, rigid where it states none: a "
        "real base joint "
        "reads above the band, and the fit tells how much of it",
        "design strength: proof or ultimate strength over its partial factor; weights hung at "
        "rest, 9.80665 m/s²",
    ]


def step_table(step: Step, units: System) -> Table:
    """Predicted readings with their bands: a row a gauge, a column a weight."""
    gauges = list(dict.fromkeys(e.gauge for e in step.expected))
    columns = [f"read at z [{unit_label('mm', units)}]"]
    columns += [stated(m, "kg", units) for m in step.masses]
    rows: list[list[Cell]] = []
    for gauge in gauges:
        own = [e for e in step.expected if e.gauge == gauge]
        z = given(round(1e3 * gauge.z * factor("mm", units), 2)) + (" dial" if own[0].dial else "")
        rows.append([z, *(band_text(e, units) for e in own)])
    return table(columns, "r" + "r" * len(step.masses), rows, (1.2, *[2.0] * len(step.masses)))


def band_text(e: Expected, units: System) -> str:
    """A prediction and its band in the unit of the sheet."""
    if e.gauge.kind is GaugeKind.TWIST:
        by, places = math.degrees(1.0), 2 + e.dial
    else:
        by, places = 1e3 * factor("mm", units), 1 + e.dial + (units == "imperial")
    value, low, high = (fixed(v * by, places) for v in (e.predicted, e.low, e.high))
    return f"{value} ({low} to {high})"


def unit_words(step: Step, units: System) -> str:
    """The unit of a step's readings."""
    return "degrees" if step.name == "twist" else unit_label("mm", units)


def plan_csv(job: Job, plan: Plan) -> str:
    """A CSV to be filled in, with every reading of the sheet: up, down, and zeros."""
    out = io.StringIO()
    name = remark(" ".join(job.mast.name.split()))
    out.write(
        f"# Bench readings of {name}. Fill in the column reading, each with its unit; leave rows "
        f"empty.\n"
    )
    out.write(
        "# A weight's way (down) is positive, twist with the trailing edge down. A new run when a "
        "gauge moved.\n"
    )
    out.write("# error: standard error of a reading, half of what the sheet takes; put your own.\n")
    write = csv.writer(out, lineterminator="\n").writerow
    write(
        ("load [kg]", "direction", "load_z [mm]", "load_arm [mm]", "gauge", "gauge_z [mm]",
         "spacing [mm]", "reading", "error", "phase", "repeat", "run")
    )  # fmt: skip
    for step in plan.steps:
        arms = (1e3 * ARM, -1e3 * ARM) if step.name == "twist" else (0.0,)
        for e in {e.gauge: e for e in step.expected}.values():
            paired = e.dial and step.name == "twist"
            length = paired or step.name != "twist"
            size = (DIAL * 2**0.5 if paired else e.error) / 2
            error = f"{1e3 * size:.3g} mm" if length else f"{math.degrees(size):.3g} deg"
            for arm in arms:
                ladder = [(m, "loading") for m in (0.0, *step.masses)]
                ladder += [(m, "unloading") for m in (*step.masses[-2::-1], 0.0)]
                for mass, phase in ladder:
                    write(
                        (f"{mass:g}", str(step.load.direction), f"{1e3 * step.load.z:g}", f"{arm:g}",
                         str(e.gauge.kind), f"{1e3 * e.gauge.z:g}", f"{1e3 * PAIR:g}" if paired else "",
                         "", error, phase, "1", step.name)
                    )  # fmt: skip
    return out.getvalue()


def plan_pdf(job: Job, plan: Plan, *, units: System = "metric", paper: str = "a4") -> bytes:
    """The sheet as one page (PDF/A-2a, PDF/UA-1); the same input gives the same bytes."""
    identity = "\n".join([units, canonical(job), repr(plan)])
    steps: list[dict[str, Any]] = [
        {
            "title": f"{k}. {TITLES[step.name]}",
            "setup": tidy(setup_words(step, job.mast.taper_about, units)),
            "gauge": tidy(gauge_words(step, units)),
            "table": step_table(step, units),
            "unit": unit_words(step, units),
            "play": tidy(play_words(step, units).removeprefix("play: ")),
            "stop": tidy(stop_words(step, units).removeprefix("stop: ")),
        }
        for k, step in enumerate(plan.steps, 1)
    ]
    data = {
        "title": plain(f"Bench test sheet: {job.mast.name}", 120),
        "id": hashlib.sha256(identity.encode("utf-8", "backslashreplace")).hexdigest()[:10],
        "cautions": [tidy(t) for t in CAUTIONS],
        "clamp": [tidy(t) for t in CLAMP],
        "steps": steps,
        "assumptions": [tidy(t) for t in assumptions(plan)],
        "file": tidy(inputs.file_words(job)),
        "pictures": {},
    }
    return set_page("bench_plan.typ", data, paper)
