"""A bench fit as tables, JSON and a report."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator, Sequence
from typing import Any

from mastcheck.bench.choose import LEVEL
from mastcheck.bench.fit import BenchFit, Status, Unknown
from mastcheck.bench.suggest import Suggestion, suggestions
from mastcheck.bench.summary import Softness, softness
from mastcheck.job import Job
from mastcheck.report import bench_words as say
from mastcheck.report import inputs
from mastcheck.report.cells import Cell, Table, table, tidy
from mastcheck.report.display import System, fixed, plain
from mastcheck.report.figure_style import svg
from mastcheck.report.identity import canonical
from mastcheck.report.pdf import set_page

SCHEMA_NAME = "mastcheck-bench/1"

AID = (
    "A calculation aid, not an approval: what a bench says of stiffness says nothing of strength. "
    "A mast "
    "softer than calculated may have thinner walls, and then it is weaker too."
)
UNKNOWN_COLUMNS = ("unknown", "calculated", "fitted", "± 99 %", "of the tip's movement")


def findings(fit: BenchFit, units: System) -> list[str]:
    """What was found, in sentences: directions, play, hysteresis, outliers."""
    return [
        *(say.softness_words(s) for s in softness(fit)),
        *say.play_words(fit, units),
        *say.series_words(fit, units),
        *say.outlier_words(fit, units),
    ]


def open_points(fit: BenchFit, found: Sequence[Suggestion], units: System) -> list[str]:
    """What the readings leave open."""
    return list(say.suggestion_words(fit, tuple(found), units))


def basis(fit: BenchFit, units: System) -> list[str]:
    """What the numbers rest on."""
    return [*say.noise_words(fit, units), *say.assumptions()]


def reading_rows(fit: BenchFit, units: System) -> Iterator[list[Cell]]:
    """Each reading: line, load, gauge, read, as calculated, fitted, off by standard errors."""
    for i, r in enumerate(fit.readings):
        if r.amount == 0:
            continue
        off = fixed(float(fit.studentised[i]), 1)
        cell: Cell = {"t": f"{off} out", "mood": "bad"} if fit.flagged[i] else off
        yield [
            str(r.line),
            tidy(say.load_text(r, units)),
            tidy(say.gauge_name(r.gauge, units)),
            say.reading_text(r.value - float(fit.zero[i]), r.gauge, units),
            say.reading_text(float(fit.predicted[i]), r.gauge, units),
            say.reading_text(float(fit.fitted[i]), r.gauge, units),
            cell,
        ]


def bench_json(job: Job, fit: BenchFit, readings_file: str) -> str:
    """The fit as JSON text, ending with a newline; SI units, angles in degrees."""
    whole = {
        "schema": SCHEMA_NAME,
        "name": job.mast.name,
        "file": job.file,
        "input_sha256": job.input_sha256,
        "readings_file": readings_file,
        "confidence": LEVEL,
        "degrees_of_freedom": fit.dof,
        "unknowns": [_unknown(u) for u in fit.unknowns],
        "free_play": [
            {
                "name": p.name,
                "status": str(p.status),
                "free_deg": math.degrees(p.value) if p.status is Status.FITTED else None,
                "interval_deg": None if p.interval is None else math.degrees(p.interval),
            }
            for p in fit.plays
        ],
        "directions": [_direction(s) for s in softness(fit)],
        "correlation": {"order": list(fit.names), "matrix": _correlation(fit)},
        "series": [
            {
                "gauge": say.series_name(s, "metric"),
                "readings": len(s.rows),
                **_reading_value("hysteresis", s.hysteresis, s.gauge.kind == "twist"),
                **_reading_value("zero_shift", s.zero_shift, s.gauge.kind == "twist"),
            }
            for s in fit.series
        ],
        "readings": [_reading(fit, i) for i in range(len(fit.readings))],
        "findings": findings(fit, "metric"),
        "open": open_points(fit, suggestions(fit), "metric"),
        "notes": basis(fit, "metric"),
        "cautions": [AID],
    }
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _unknown(u: Unknown) -> dict[str, Any]:
    if u.name in ("EI_side", "EI_fore_aft", "GJ"):
        off = None if u.interval is None else u.interval / u.value**2
        return {
            "name": u.name, "status": str(u.status), "factor": 1 / u.value,
            "factor_calculated": 1 / u.nominal, "factor_interval": off,
        }  # fmt: skip
    return {
        "name": u.name, "status": str(u.status), "compliance_rad_per_Nm": u.value,
        "compliance_calculated_rad_per_Nm": u.nominal, "compliance_interval_rad_per_Nm": u.interval,
    }  # fmt: skip


def _direction(s: Softness) -> dict[str, Any]:
    return {
        "direction": s.direction,
        "softer": s.softer,
        "interval": s.interval,
        "parts": [{"name": p.name, "share": p.share, "interval": p.interval} for p in s.parts],
        "not_separated": list(s.held),
        "words": say.softness_words(s),
    }


def _correlation(fit: BenchFit) -> list[list[float]]:
    size = fit.covariance.diagonal() ** 0.5
    return [
        [float(v / (a * b)) for v, b in zip(row, size, strict=True)]
        for row, a in zip(fit.covariance, size, strict=True)
    ]


def _reading(fit: BenchFit, i: int) -> dict[str, Any]:
    r, angle = fit.readings[i], fit.readings[i].gauge.kind == "twist"
    return {
        "line": r.line,
        "gauge": str(r.gauge.kind),
        "gauge_z_m": r.gauge.z,
        "load_z_m": r.load.z,
        "load_arm_m": r.load.arm,
        **({"load_Nm": r.amount} if r.load.direction == "torque" else {"load_N": r.amount}),
        **_reading_value("read", r.value, angle),
        **_reading_value("zero", float(fit.zero[i]), angle),
        **_reading_value("calculated", float(fit.predicted[i]), angle),
        **_reading_value("fitted", float(fit.fitted[i]), angle),
        "studentised": float(fit.studentised[i]),
        "used": bool(fit.used[i]),
        "outlier": bool(fit.flagged[i]),
    }


def _reading_value(name: str, value: float | None, angle: bool) -> dict[str, float | None]:
    if angle:
        return {f"{name}_deg": None if value is None else math.degrees(value)}
    return {f"{name}_mm": None if value is None else 1e3 * value}


def unknown_table(fit: BenchFit, units: System) -> Table:
    """The unknowns as a table."""
    rows: list[list[Cell]] = [list(say.unknown_row(u, units)) for u in fit.unknowns]
    return table(UNKNOWN_COLUMNS, "lrrrl", rows, (3.4, 1.2, 1.2, 1.2, 2.4))


def bench_pdf(
    job: Job, fit: BenchFit, readings_file: str, *, units: System = "metric", paper: str = "a4"
) -> bytes:
    """The fit as a report (PDF/A-2a, PDF/UA-1); the same input gives the same bytes."""
    from mastcheck.report.bench_figure import bench_figure

    found = suggestions(fit)
    fig = bench_figure(fit, units=units)
    wide, _ = fig.get_size_inches()
    said = findings(fit, units)
    identity = "\n".join([units, canonical(job), repr(fit.readings)])
    columns = ("line", "load", "gauge", "read, less zero", "calculated", "fitted", "off [σ]")
    data = {
        "title": plain(f"Bench test: {job.mast.name}", 120),
        "id": hashlib.sha256(identity.encode("utf-8", "backslashreplace")).hexdigest()[:10],
        "asked": tidy(
            f"Where does the flex of this mast come from? {len(fit.readings)} readings of "
            f"{readings_file}, "
            "fitted by weighted least squares."
        ),
        "aid": AID,
        "file": tidy(inputs.file_words(job)),
        "findings": [tidy(t) for t in said],
        "unknowns": unknown_table(fit, units),
        "open": [tidy(t) for t in open_points(fit, found, units)],
        "readings": table(
            columns, "rllrrrr", list(reading_rows(fit, units)), (0.6, 3, 3, 1.4, 1.2, 1.1, 1)
        ),
        "basis": [tidy(t) for t in basis(fit, units)],
        "notes": [tidy(t) for t in job.notes if "stiffness calibrated" in t or "joint" in t],
        "pictures": {
            "fit": {
                "svg": svg(fig).decode("utf-8"),
                "alt": tidy(
                    "Measured against calculated readings, before and after the fit. " + ". ".join(said)
                ),
                "caption": "Above: each reading against what was calculated (open) and fitted "
                "(full); on the "
                "line both agree. Below: along the mast under one load, bars of two standard errors.",
                "width": float(wide) * 72,
            }
        },
    }
    return set_page("bench.typ", data, paper)
