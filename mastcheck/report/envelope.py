"""The envelope of riders over lengths: words, table, chart, JSON, CSV and report."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
from collections.abc import Iterator, Sequence

from mastcheck.checks.envelope_result import (
    CLOSE,
    SCANNED,
    Envelope,
    EnvelopeLimit,
    Heaviest,
    Kind,
    Reach,
)
from mastcheck.checks.quiver import listed
from mastcheck.report import inputs
from mastcheck.report.cells import Cell, Table, table, tidy
from mastcheck.report.display import System, breakable, factor, given, plain, stated, unit_label
from mastcheck.report.figure_style import svg
from mastcheck.report.identity import canonical
from mastcheck.report.pdf import set_page
from mastcheck.report.verdict import _listed
from mastcheck.report.words import isotropic_materials, laminas, made_of, outline_rules, wall_words
from mastcheck.spreadsheet import text as text_cell

SCHEMA_NAME = "mastcheck-envelope/1"

AID = (
    "A calculation aid, not an approval: a qualified structural review, local rules and the makers' "
    "instructions come first. A mast that breaks can hurt people."
)

CAPTION = (
    "Heaviest rider of each limit over the length, straight between the lengths solved (marks). The "
    "shaded part holds all that is judged. Limits that hold throughout are not drawn; a cross ends a "
    "line where the lightest rider tried is too heavy for the next length."
)


def limit_words(limit: EnvelopeLimit, units: System) -> str:
    """A limit as a table names it, without its case."""
    if limit.limit is None:
        return {
            Kind.STRENGTH: "strength",
            Kind.STABILITY: "stability",
            Kind.FATIGUE: "fatigue",
        }.get(limit.kind, str(limit.kind))
    quantity, bound = limit.limit.quantity, limit.limit.maximum
    name = quantity.value.replace("_", " ")
    if quantity.is_length:
        return f"{name}, {stated(bound * 1e3, 'mm', units)} at most"
    return f"{name}, {given(math.degrees(bound))}° at most"


def mass_words(found: Heaviest, envelope: Envelope, units: System) -> str:
    """A heaviest rider, rounded down to a tenth of the unit; or where the range ends."""
    kg = factor("kg", units)
    low, high = (given(m * kg) for m in envelope.riders)
    match found.reach:
        case Reach.FOUND:
            # The last place is given away, never rounded up: this rider holds.
            return f"{math.floor((found.mass or 0.0) * kg * 10) / 10:.1f}{'' if found.steady else ' ~'}"
        case Reach.ABOVE:
            return f"> {high}{'' if found.steady else ' ~'}"
        case Reach.BELOW:
            return f"< {low}{'' if found.steady else ' ~'}"
        case Reach.NOT_JUDGED:
            return "not judged"


def marked(limit: EnvelopeLimit, found: Heaviest, text: str) -> str:
    """The text with a star where only part of what the limit looks at was judged."""
    in_part = not limit.judged and found.reach is not Reach.NOT_JUDGED
    return f"{text} *" if in_part else text


def sentences(envelope: Envelope, units: System) -> list[str]:
    """What the table's words and signs mean, those that occur; and how the riders were found."""
    unit = unit_label("kg", units)
    found = [h for row in envelope.rows for h in row.heaviest]
    out = []
    if any(h.reach is Reach.ABOVE for h in found):
        out.append(
            f"> {given(envelope.riders[1] * factor('kg', units))}: holds at the heaviest rider tried"
        )
    if any(h.reach is Reach.BELOW for h in found):
        out.append(
            f"< {given(envelope.riders[0] * factor('kg', units))}: fails at the lightest rider tried"
        )
    if any(h.reach is Reach.NOT_JUDGED for h in found):
        out.append("not judged: no strength, or no fatigue curve, is stated that holds; that is no pass")
    rows = [pair for row in envelope.rows for pair in zip(envelope.limits, row.heaviest, strict=True)]
    if any(marked(limit, h, "") for limit, h in rows):
        out.append(
            "*: part of what is looked at states no strength that holds for it, and is not judged"
        )
    if any(not h.steady for h in found):
        out.append(
            "~: the use does not grow steadily with the rider; the lightest rider past the limit counts"
        )
    out.append(
        f"each rider is found within {CLOSE:g} kg and rounded down to 0.1 {unit}; {SCANNED} riders from "
        "the lightest to the heaviest are tried first, and a limit passed and held again between two of "
        "them would not be seen"
    )
    return out


def assumptions(envelope: Envelope, units: System) -> list[str]:
    """What the envelope rests on."""
    job = envelope.job
    rider, mast = job.rider, job.mast
    lines = [made_of(mast)]
    lines += [f"{m.name}: {m.source}" for m in isotropic_materials(mast)]
    lines += [f"{ply.name}: {ply.source}" for ply in laminas(mast)]
    lines.append(
        f"the rider's mass alone changes: gear {stated(rider.gear_mass, 'kg', units)}, centre of mass "
        f"{stated(rider.rider_height, 'm', units)} above the base, stance "
        f"{stated(rider.stance_width * 1e3, 'mm', units)}"
    )
    lines.append(
        "stations are fractions of the length, so that a taper stretches; the sections are those of the "
        f"mast at {stated(mast.length * 1e3, 'mm', units)}"
    )
    lines.append("every limit and verdict is that of a check at this length and rider, second order")
    if len(job.quiver) > 1:
        lines.append(
            f"each rider is the least over the wings {listed([wing.name for wing in job.quiver])}; a "
            "wing is named where they differ"
        )
    lines.append(
        "mast clamped at its base and rigidly joined at its tip, "
        + ("free to warp there" if mast.tip_warping == "free" else "held from warping there")
    )
    # What was said of the rider's mass gives way to the riders asked for.
    return [*lines, *(note for note in job.notes if not note.startswith("rider mass"))]


def limit_table(envelope: Envelope, units: System) -> Table:
    """A row a limit, a column a length; the heaviest rider of all first."""
    mm = factor("mm", units)
    columns = ["limit", "case", *(given(round(r.length * 1e3 * mm, 2)) for r in envelope.rows)]
    rows: list[list[Cell]] = [
        [
            {"t": "heaviest rider of all that is judged", "mood": "strong"},
            "",
            *(_overall_cell(envelope, k, units) for k in range(len(envelope.rows))),
        ]
    ]
    for i, limit in enumerate(envelope.limits):
        cells: list[Cell] = []
        for row in envelope.rows:
            found = row.heaviest[i]
            text = marked(limit, found, mass_words(found, envelope, units))
            mood = "bad" if found.reach is Reach.BELOW else "open" if "judged" in text else "plain"
            cells.append({"t": text, "mood": "strong" if row.governing == i else mood})
        rows.append([tidy(limit_words(limit, units)), breakable(limit.case), *cells])
    n = len(envelope.rows)
    return table(columns, "ll" + "r" * n, rows, (3.0, 1.5, *[7 / n] * n))


def _overall_cell(envelope: Envelope, k: int, units: System) -> Cell:
    found = envelope.rows[k].overall
    mood = {Reach.BELOW: "bad", Reach.NOT_JUDGED: "open"}.get(found.reach, "strong")
    return {"t": mass_words(found, envelope, units), "mood": mood}


def governs(envelope: Envelope, units: System) -> list[str]:
    """In words, which limit governs at which lengths."""
    names: dict[str, list[str]] = {}
    for row in envelope.rows:
        if row.governing is None:
            continue
        limit = envelope.limits[row.governing]
        wing = row.overall.wing
        name = f"{limit_words(limit, units)} in {limit.case}{f' with wing {wing}' if wing else ''}"
        names.setdefault(name, []).append(given(round(row.length * 1e3 * factor("mm", units), 2)))
    unit = unit_label("mm", units)
    return [f"{name} governs at {_listed(lengths)} {unit}" for name, lengths in names.items()]


def envelope_json(envelope: Envelope) -> str:
    """The envelope as JSON text, ending with a newline; a mass that was not found is null."""
    job = envelope.job
    several = len(job.quiver) > 1
    whole = {
        "schema": SCHEMA_NAME,
        "name": job.mast.name,
        "file": job.file,
        "input_sha256": job.input_sha256,
        "lightest_rider_kg": envelope.riders[0],
        "heaviest_rider_kg": envelope.riders[1],
        "gear_kg": job.rider.gear_mass,
        **({"wings": [wing.name for wing in job.quiver]} if several else {}),
        "found_within_kg": CLOSE,
        "limits": [
            {
                "kind": str(m.kind),
                "case": m.case,
                "quantity": None if m.limit is None else str(m.limit.quantity),
                **_bound(m),
                "all_judged": m.judged,
            }
            for m in envelope.limits
        ],
        "lengths": [
            {
                "length_m": row.length,
                "governing_limit": row.governing,
                "rider_kg": row.overall.mass,
                "reach": str(row.overall.reach),
                **({"governing_wing": row.overall.wing or None} if several else {}),
                "limits": [
                    {
                        "rider_kg": h.mass,
                        "reach": str(h.reach),
                        "steady": h.steady,
                        **({"governing_wing": h.wing or None} if several else {}),
                    }
                    for h in row.heaviest
                ],
            }
            for row in envelope.rows
        ],
        "notes": assumptions(envelope, "metric"),
        "cautions": list(envelope.cautions),
    }
    return json.dumps(whole, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _bound(limit: EnvelopeLimit) -> dict[str, float]:
    if limit.limit is None:
        return {}
    if limit.limit.quantity.is_length:
        return {"limit_mm": limit.limit.maximum * 1e3}
    return {"limit_deg": math.degrees(limit.limit.maximum)}


def envelope_csv(envelope: Envelope) -> str:
    """A line for each length and limit; the first of each length is the heaviest rider of all."""
    out = io.StringIO()
    lines = csv.writer(out, lineterminator="\n")

    def write(row: Sequence[object]) -> None:
        # Cases and wings are named by the mast file: no spreadsheet may take a name for a formula.
        lines.writerow([text_cell(v) if isinstance(v, str) else v for v in row])

    several = len(envelope.job.quiver) > 1
    columns = ("length_mm", "limit", "case", "rider_kg", "reach", "all_judged", "steady", "governs")
    write((*columns, "wing") if several else columns)
    for row in envelope.rows:
        mm = f"{row.length * 1e3:.6g}"
        whole = all(m.judged for m in envelope.limits)
        best = row.overall
        line = (mm, "all", "", _kg(best), best.reach, whole, best.steady, "")
        write((*line, best.wing) if several else line)
        for i, (limit, h) in enumerate(zip(envelope.limits, row.heaviest, strict=True)):
            words = limit_words(limit, "metric")
            own = (mm, words, limit.case, _kg(h), h.reach, limit.judged, h.steady, row.governing == i)
            write((*own, h.wing) if several else own)
    return out.getvalue()


def _kg(found: Heaviest) -> str:
    return "" if found.mass is None else f"{found.mass:.3f}"


def envelope_pdf(envelope: Envelope, *, units: System = "metric", paper: str = "a4") -> bytes:
    """The envelope as a report (PDF/A-2a, PDF/UA-1); the same input gives the same bytes."""
    from mastcheck.report.envelope_figure import envelope_figure

    job = envelope.job
    low, high = (stated(m, "kg", units) for m in envelope.riders)
    first, last = (stated(r.length * 1e3, "mm", units) for r in (envelope.rows[0], envelope.rows[-1]))
    fig = envelope_figure(envelope, units=units)
    wide, _ = fig.get_size_inches()
    table_words = "; ".join(_row_words(envelope, units))
    identity = "\n".join(
        [units, canonical(job), repr(envelope.riders), repr([r.length for r in envelope.rows])]
    )
    data = {
        "title": plain(f"Riders and lengths: {job.mast.name}", 120),
        "id": hashlib.sha256(identity.encode("utf-8", "backslashreplace")).hexdigest()[:10],
        "asked": tidy(
            f"Which is the heaviest rider this mast holds at lengths from {first} to {last}, of riders "
            f"from {low} to {high}, under each limit?"
        ),
        "aid": AID,
        "made": tidy(made_of(job.mast)),
        "file": tidy(inputs.file_words(job)),
        "table": limit_table(envelope, units),
        "unit": unit_label("kg", units),
        "length_unit": unit_label("mm", units),
        "governs": [tidy(t) for t in governs(envelope, units)],
        "meaning": [tidy(t) for t in sentences(envelope, units)],
        "pictures": {
            "envelope": {
                "svg": svg(fig).decode("utf-8"),
                "alt": tidy(f"Heaviest rider against length. {table_words}."),
                "caption": CAPTION,
                "width": float(wide) * 72,
            }
        },
        "loads": inputs.case_table({case: ["A"] for case in job.cases}, 1, units),
        "geometry": _geometry(envelope, units),
        "rules": tidy("; ".join(outline_rules(job.mast, units))),
        "notes": [tidy(t) for t in assumptions(envelope, units)],
        "cautions": [tidy(t) for t in envelope.cautions if not t.startswith("A calculation aid")],
    }
    return set_page("envelope.typ", data, paper)


def _row_words(envelope: Envelope, units: System) -> Iterator[str]:
    unit = unit_label("kg", units)
    for row in envelope.rows:
        words = mass_words(row.overall, envelope, units)
        yield f"{stated(row.length * 1e3, 'mm', units)}: {words} {unit}"


def _geometry(envelope: Envelope, units: System) -> Table:
    """Stations as stated, at their fractions."""
    mm = 1e3 * factor("mm", units)
    label = unit_label("mm", units)
    rows: list[list[Cell]] = [
        [
            given(s.at),
            given(s.chord * mm),
            given(s.thickness * mm),
            "plies" if s.plies else wall_words(s.wall, units),
        ]
        for s in envelope.job.mast.stations
    ]
    columns = ["at", f"chord {label}", f"thickness {label}", f"wall {label}"]
    return table(columns, "rrrr", rows, (1, 1, 1, 2))
