"""Tables of what was found on one mast, out of the data of its result file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from mastcheck.report.csv_rows import Row, flat, series

Found = dict[str, Any]
"""A mast in the result file."""


def _list(*keys: str) -> Callable[[Found], Iterator[Row]]:
    """Rows of a list in the result file; none where a key on the way holds nothing."""

    def rows(mast: Found) -> Iterator[Row]:
        for item in _at(mast, *keys) or ():
            yield flat(item)

    return rows


def _at(mast: Found, *keys: str) -> Any:
    node: Any = mast
    for key in keys:
        node = None if node is None else node.get(key)
    return node


def _one(*keys: str, but: tuple[str, ...] = ()) -> Callable[[Found], Iterator[Row]]:
    """The single row of a group of values."""

    def rows(mast: Found) -> Iterator[Row]:
        node = _at(mast, *keys)
        if node is not None:
            yield flat(node, but)

    return rows


_MOVEMENTS = ("x_m", "y_m", "z_m", "roll_rad", "pitch_rad", "twist_rad")


def _compliance(mast: Found) -> Iterator[Row]:
    found = mast["tip_compliance"]
    heads = [f"per_{'Nm' if name.startswith('M') else 'N'}_of_{name}" for name in found["order"]]
    for name, values in zip(_MOVEMENTS, found["matrix_SI"], strict=True):
        yield {"movement": name, **dict(zip(heads, values, strict=True))}


def _cases(mast: Found) -> Iterator[Row]:
    for case in mast["cases"]:
        yield {"case": case["name"], **flat(case, ("name", "findings", "buckling_mode"))}


def _modes_of_buckling(mast: Found) -> Iterator[Row]:
    for case in mast["cases"]:
        mode = case["buckling_mode"]
        if mode is not None:
            whole = flat(mode)
            for row in series(mode, len(mode["z_m"])):
                yield {"case": case["name"], **whole, **row}


def _findings(mast: Found) -> Iterator[Row]:
    for case in mast["cases"]:
        for finding in case["findings"]:
            yield {"case": case["name"], **flat(finding)}


def _damage(mast: Found) -> Iterator[Row]:
    for worst in _at(mast, "fatigue", "worst") or ():
        yield flat(worst)


def _ranges(mast: Found) -> Iterator[Row]:
    for worst in _at(mast, "fatigue", "worst") or ():
        for item in worst["ranges"]:
            yield {"material": worst["material"], "max_at_z_m": worst["max_at_z_m"], **flat(item)}


def _cycles(mast: Found) -> Iterator[Row]:
    for case, cycles in (_at(mast, "fatigue", "cycles") or {}).items():
        yield {"case": case, "cycles": cycles}


def _modes(mast: Found) -> Iterator[Row]:
    for medium in ("in_air", "in_water"):
        for rank, mode in enumerate(_at(mast, "motion", medium) or (), 1):
            yield {"medium": medium[3:], "rank": rank, **flat(mode)}


def _mode_shapes(mast: Found) -> Iterator[Row]:
    for medium in ("in_air", "in_water"):
        for rank, mode in enumerate(_at(mast, "motion", medium) or (), 1):
            for row in series(mode["shape"], len(mode["shape"]["z_m"])):
                yield {"medium": medium[3:], "rank": rank, "name": mode["name"], **row}


def _by_speed(mast: Found) -> Iterator[Row]:
    drag, tracking = _at(mast, "water", "drag"), _at(mast, "water", "tracking")
    if drag is None:
        return
    length = len(drag["speeds_m_per_s"])
    for a, b in zip(series(drag, length), series(tracking, length), strict=True):
        speed = a.pop("speeds_m_per_s")
        yield {"speed_m_per_s": speed, **a, **b}


def _water_figures(mast: Found) -> Iterator[Row]:
    for case in _at(mast, "water", "cases") or ():
        for item in case["figures"]:
            yield {"case": case["name"], **flat(item)}


def _free_bodies(mast: Found) -> Iterator[Row]:
    for case in _at(mast, "water", "cases") or ():
        body = case["free_body"]
        for force in () if body is None else body["forces"]:
            yield {"case": case["name"], **flat(force), **flat(body)}


def _sensitivity(mast: Found) -> Iterator[Row]:
    for change in _at(mast, "sensitivity", "changes") or ():
        yield flat(change)


def _sensitivity_by_case(mast: Found) -> Iterator[Row]:
    places = _at(mast, "sensitivity", "utilisation_at_z_m") or {}
    for change in _at(mast, "sensitivity", "changes") or ():
        for case in change["cases"]:
            yield {
                **flat(
                    change, ("mass_kg", "side_mm_per_100N", "fore_aft_mm_per_100N", "twist_deg_per_10Nm")
                ),
                "case": case["name"],
                **flat(case, ("name",)),
                "utilisation_at_z_m": places.get(case["name"]),
            }


def _bands(mast: Found) -> Iterator[Row]:
    for band in _at(mast, "tolerances", "bands") or ():
        yield {**flat(band), "coverage": mast["tolerances"]["coverage"]}


def _wing_failures(mast: Found) -> Iterator[Row]:
    for wing in mast.get("quiver") or ():
        for failed in wing["failed_checks"]:
            yield {"wing": wing["name"], **flat(failed)}


def _chances(mast: Found) -> Iterator[Row]:
    samples = _at(mast, "tolerances", "samples")
    if samples is not None:
        every = {"name": "any limit", "case": ""}
        for chance in ({**samples["any_limit"], **every}, *samples["limits"]):
            yield {**flat(chance), "seed": samples["seed"], "refused": samples["refused"]}


def _budget(mast: Found) -> Iterator[Row]:
    for budget in _at(mast, "joints", "flex_budget") or ():
        for part in budget["parts"]:
            yield {"case": budget["case"], **flat(part)}


def _bolts(mast: Found) -> Iterator[Row]:
    for group in _at(mast, "joints", "bolts") or ():
        for bolt in group["bolts"]:
            yield {"joint": group["joint"], "case": group["case"], **flat(bolt)}


def _notes(mast: Found) -> Iterator[Row]:
    for about, notes in (("inputs", mast["notes"]), ("water", _at(mast, "water", "notes") or ())):
        for note in notes:
            yield {"about": about, "note": note}


def _sources(mast: Found) -> Iterator[Row]:
    for about, found in (
        ("strength", mast["sources"]),
        ("motion", _at(mast, "motion", "basis") or ()),
        ("water", _at(mast, "water", "sources") or ()),
    ):
        for source in found:
            yield {"about": about, **flat(source)}


RESULTS: dict[str, Callable[[Found], Iterator[Row]]] = {
    "stations": _list("stations"),
    "stiffness": _one("stiffness"),
    "tip-compliance": _compliance,
    "cases": _cases,
    "findings": _findings,
    "checks": _list("checks"),
    "self-checks": _list("self_checks"),
    "buckling-modes": _modes_of_buckling,
    "fatigue": _damage,
    "fatigue-ranges": _ranges,
    "fatigue-cycles": _cycles,
    "fatigue-curve": _one("fatigue", "curve"),
    "fatigue-basis": _one("fatigue", but=("cycles", "curve", "worst")),
    "motion": _one("motion", but=("shedding", "divergence")),
    "modes": _modes,
    "mode-shapes": _mode_shapes,
    "shedding": _one("motion", "shedding"),
    "lock-in": _list("motion", "shedding", "lock_in"),
    "divergence": _one("motion", "divergence"),
    "water": _one("water", but=("notes",)),
    "water-by-speed": _by_speed,
    "water-cases": _list("water", "cases"),
    "water-case-values": _water_figures,
    "free-bodies": _free_bodies,
    "wings": _list("quiver"),
    "wing-failures": _wing_failures,
    "flex-budget": _budget,
    "joint-findings": _list("joints", "findings"),
    "bolts": _bolts,
    "play": _list("joints", "play"),
    "lost-motion": _one("joints", "lost_motion"),
    "sensitivity": _sensitivity,
    "sensitivity-by-case": _sensitivity_by_case,
    "tolerances": _list("tolerances", "inputs"),
    "tolerance-bands": _bands,
    "tolerance-chances": _chances,
    "edges": _list("edges", "stations"),
    "edge-limits": _one("edges", but=("rounding",)),
    "edge-rounding": _one("edges", "rounding"),
    "mixed-metals": _list("mixed_metals"),
    "notes": _notes,
    "sources": _sources,
}
"""Tables by file name without its ending."""
