"""What went into the check, as HTML: masts and their files, sizes, riders, load cases, sources."""

from __future__ import annotations

from collections.abc import Sequence

from mastcheck.checks.result import CaseResult, Comparison, MastResult
from mastcheck.checks.sources import sources_used
from mastcheck.page.data import letter
from mastcheck.page.fixed import folded, table
from mastcheck.page.text import LONGEST, given, quantity, safe
from mastcheck.page.told import MastTold, Told


def inputs(comparison: Comparison, told: Told) -> str:
    """What went in, mast by mast, with what was assumed and every source."""
    pairs = zip(comparison.masts, told.masts, strict=True)
    return "".join(_mast(letter(i), m, t) for i, (m, t) in enumerate(pairs))


def _mast(name: str, m: MastResult, t: MastTold) -> str:
    mast, rider = m.job.mast, m.job.rider
    sizes = table(
        f"Mast {name}: stations",
        ("z", "chord", "thickness"),
        [(_mm(s.at * mast.length), _mm(s.chord), _mm(s.thickness)) for s in mast.stations],
        numeric=(1, 2),
    )
    carried = (
        f"{quantity(rider.mass, 'kg', stated=True)}, board and gear "
        f"{quantity(rider.gear_mass, 'kg', stated=True)}, centre of mass {_mm(rider.rider_height)} "
        f"above the base, stance {_mm(rider.stance_width)}"
    )
    return (
        f'<section class="mast"><h3><span class="letter">{name}</span> '
        f"<bdi>{safe(mast.name, LONGEST)}</bdi></h3>"
        f"<dl><dt>Name</dt><dd>{_whole_name(mast.name)}</dd><dt>Made as</dt><dd>{safe(t.made)}</dd>"
        f"<dt>File</dt><dd>{safe(t.files)}</dd><dt>Rider</dt><dd>{carried}</dd></dl>"
        f"{sizes}{_load_table(name, m)}{_list('Assumed', m.job.notes)}{_sources(m)}</section>"
    )


def _mm(metres: float) -> str:
    """A length of the file."""
    return quantity(1e3 * metres, "mm", stated=True)


def _whole_name(name: str) -> str:
    """The name to its last character; a very long one is folded away."""
    whole = f"<bdi>{safe(name)}</bdi>"
    if len(name) <= LONGEST:
        return whole
    return folded(f"{len(name)} characters", whole)


def _load_table(name: str, m: MastResult) -> str:
    columns = (
        "case",
        "n",
        "offset aft",
        "roll offset",
        "side force",
        "twist by feet",
        "lift",
        "strength factor",
    )
    rows = [
        (
            safe(c.case.name, 60),
            given(c.case.n),
            _mm(c.case.offset),
            _mm(c.case.roll_offset),
            f"{given(c.case.side_force)} W{' spread' if c.case.side_spread else ''}{_further(c)}",
            f"{given(c.case.feet_twist)} W × stance",
            safe(str(c.case.lift)),
            given(c.case.strength_factor),
        )
        for c in m.cases
    ]
    return table(f"Mast {name}: load cases as applied", columns, rows, numeric=(1, 2, 3, 7))


def _further(c: CaseResult) -> str:
    """Further tip loads of a case, in mast axes."""
    force, moment = c.case.force, c.case.moment
    out = ""
    if any(force):
        out += f"; force ({', '.join(given(f) for f in force)}) N"
    if any(moment):
        out += f"; moment ({', '.join(given(f) for f in moment)}) N·m"
    return out


def _sources(m: MastResult) -> str:
    lines = [f"{what}: {source}" for what, source in sources_used(m)]
    lines += sorted({f"load cases: {c.case.source}" for c in m.cases})
    return _list("Sources", lines)


def _list(heading: str, lines: Sequence[str]) -> str:
    if not lines:
        return ""
    items = "".join(f"<li>{safe(line)}</li>" for line in lines)
    return folded(f"{heading} ({len(lines)})", f"<ul>{items}</ul>")
