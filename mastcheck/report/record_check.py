"""Whether a comparison read from a file hangs together: shapes that fit, indices that point somewhere.

Each class says its arrays' shapes in its docstring; they stand here once more as text. A letter is one
size within one object: where it comes twice it must be the same.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import Any

import numpy as np
from shapely import Polygon

from mastcheck.beam.buckling import BucklingMode
from mastcheck.checks.joint_result import FlexBudget
from mastcheck.checks.result import CaseResult, Comparison, LineResult, MastResult, Ratio
from mastcheck.checks.sensitivity_result import CaseSensitivity, SensitivityResult
from mastcheck.drawn import Coordinates, DrawnLoop
from mastcheck.joints.loads import BoltLoads
from mastcheck.mast import Mast
from mastcheck.motion.vibration import Mode
from mastcheck.report.codec_arrays import MismatchError
from mastcheck.section.model import Region, SectionModel, StressBasis
from mastcheck.water.model import Drag, Tracking

MOST_MASTS = 100
LONGEST = 20.0
"""Mast length [m] beyond which a drawing makes no sense."""

_SHAPES: dict[type, dict[str, str]] = {
    Comparison: {"masts": "m"},
    Ratio: {"values": "m", "ratios": "m"},
    MastResult: {"z": "n", "sections": "n", "tip_compliance": "6 6"},
    SectionModel: {"end": "6 6"},
    StressBasis: {"points": "n 2", "region": "n", "fields": "7 n 3", "triangles": "t 3"},
    CaseResult: {"von_mises": "n", "point_utilisation": "n", "utilisation_along_z": "s"},
    LineResult: {"z": "n", "displacement": "n 3", "rotation": "n 3", "resultants": "n 7"},
    BucklingMode: {"share": "3", "z": "n", "displacement": "n 3", "rotation": "n 3"},
    Mode: {"shares": "4", "z": "n", "side": "n", "fore_aft": "n", "twist": "n"},
    SensitivityResult: {"changes": "p", "mass": "p", "compliance": "6 6 p"},
    CaseSensitivity: {"tip": "6 p", "utilisation": "p"},
    FlexBudget: {"parts": "p", "movement": "p 6"},
    BoltLoads: {
        "number": "n",
        "wrench": "6",
        "service_wrench": "6",
        "tension": "n",
        "shear": "n 2",
        "service_tension": "n",
        "service_shear": "n 2",
        "opening": "n",
    },
    Drag: {
        "speeds": "n",
        "friction": "n",
        "profile": "n",
        "spray": "n",
        "junction": "n",
        "base": "n",
        "low": "n",
        "high": "n",
        "reynolds": "n 2",
    },
    Tracking: {
        "speeds": "n",
        "side_per_rad": "n",
        "stall_force": "n",
        "ventilation_force": "n 2",
        "weathercock": "n",
        "yaw_damping": "n",
        "roll_damping": "n",
    },
    Coordinates: {"points": "n 2"},
    DrawnLoop: {"points": "n 2"},
}


def check_whole(comparison: Comparison) -> None:
    """Check shapes and indices of everything in a comparison.

    Raises: MismatchError at the first place that does not hang together.
    """
    if not 1 <= len(comparison.masts) <= MOST_MASTS:
        _broken("masts", f"must be 1 to {MOST_MASTS}")
    for item, at in _objects(comparison):
        _shapes(item, at)
        if isinstance(item, Region):
            _region(item, at)
    for i, ratio in enumerate(comparison.ratios):
        if len(ratio.values) != len(comparison.masts):
            _broken(f"ratios[{i}].values", "must be one for each mast")
    if comparison.trade is not None and len(comparison.trade.suits) != len(comparison.masts):
        _broken("trade.suits", "must be one for each mast")
    for i, mast in enumerate(comparison.masts):
        _mast(mast, f"masts[{i}]")


def _objects(root: Any) -> Iterator[tuple[Any, str]]:
    """Every dataclass below a value, once each, with the first place where it stands."""
    seen: set[int] = set()
    waiting: list[tuple[Any, str]] = [(root, "")]
    while waiting:
        item, at = waiting.pop()
        if isinstance(item, tuple):
            waiting += [(part, f"{at}[{i}]") for i, part in enumerate(item)]
        elif dataclasses.is_dataclass(item) and id(item) not in seen:
            seen.add(id(item))
            yield item, at
            waiting += [
                (getattr(item, f.name), f"{at}.{f.name}" if at else f.name)
                for f in dataclasses.fields(item)
            ]


def _shapes(item: Any, at: str) -> None:
    sizes: dict[str, int] = {}
    for name, sides in _SHAPES.get(type(item), {}).items():
        value = getattr(item, name)
        if value is None:
            continue
        shape = value.shape if isinstance(value, np.ndarray) else (len(value),)
        wanted = sides.split()
        fits = len(shape) == len(wanted) and all(
            size == (int(side) if side.isdigit() else sizes.setdefault(side, size))
            for size, side in zip(shape, wanted, strict=True)
        )
        if not fits:
            _broken(f"{at}.{name}" if at else name, f"has sizes {shape}, which do not fit the others")


def _region(region: Region, at: str) -> None:
    polygon: Polygon = region.polygon
    if max(map(abs, polygon.bounds)) > LONGEST:
        _broken(f"{at}.polygon", f"is larger than {LONGEST:.0f} m")


def _mast(mast: MastResult, at: str) -> None:
    _lengths(mast.job.mast, f"{at}.job.mast")
    if len(mast.sections) < 2:
        _broken(f"{at}.sections", "must be two or more")
    if not np.isfinite(mast.z).all() or (np.diff(mast.z) < 0).any():
        _broken(f"{at}.z", "must rise from base to tip")
    for i, section in enumerate(mast.sections):
        basis, where = section.basis, f"{at}.sections[{i}].basis"
        if not section.regions:
            _broken(f"{at}.sections[{i}].regions", "must be one or more")
        _pointing(basis.region, len(section.regions), f"{where}.region")
        _pointing(basis.triangles, len(basis.points), f"{where}.triangles")
        if not np.isfinite(basis.points).all():
            _broken(f"{where}.points", "must be finite")
    for i, case in enumerate(mast.cases):
        _case(case, mast, f"{at}.cases[{i}]")
    for i, change in enumerate(mast.sensitivity.changes if mast.sensitivity else ()):
        if change.station is not None:
            stations = len(mast.job.mast.stations)
            _pointing(np.array(change.station), stations, f"{at}.sensitivity.changes[{i}].station")
    for i, case_rates in enumerate(mast.sensitivity.cases if mast.sensitivity else ()):
        if mast.sensitivity and case_rates.tip.shape[1] != len(mast.sensitivity.changes):
            _broken(f"{at}.sensitivity.cases[{i}].tip", "must be one for each change")
    for i, band in enumerate(mast.tolerances.bands if mast.tolerances else ()):
        if mast.tolerances and len(band.changes) != len(mast.tolerances.tolerances):
            _broken(f"{at}.tolerances.bands[{i}].changes", "must be one for each tolerance")


def _lengths(mast: Mast, at: str) -> None:
    if not 0 < mast.length <= LONGEST:
        _broken(f"{at}.length", f"must be above 0 and at most {LONGEST:.0f} m")
    if len(mast.stations) < 2:
        _broken(f"{at}.stations", "must be two or more")
    for i, station in enumerate(mast.stations):
        if not (
            0 <= station.at <= 1 and 0 < station.chord <= LONGEST and 0 < station.thickness <= LONGEST
        ):
            _broken(f"{at}.stations[{i}]", "is no station of a mast")


def _case(case: CaseResult, mast: MastResult, at: str) -> None:
    along = case.utilisation_along_z
    if along is not None and len(along) != len(mast.z):
        _broken(f"{at}.utilisation_along_z", "must be one for each station")
    place = case.governing_station
    if place is not None:
        _pointing(np.array(place), len(mast.sections), f"{at}.governing_station")
        points = len(mast.sections[place].basis.points)
        for name in ("von_mises", "point_utilisation"):
            values = getattr(case, name)
            if values is not None and len(values) != points:
                _broken(f"{at}.{name}", "must be one for each point of the governing section")
    for i, finding in enumerate(case.findings):
        if not np.isfinite(finding.z):
            _broken(f"{at}.findings[{i}].z", "must be finite")


def _pointing(places: Any, size: int, at: str) -> None:
    if places.size and not (places.min() >= 0 and places.max() < size):
        _broken(at, f"points past the {size} that there are")


def _broken(at: str, rule: str) -> None:
    raise MismatchError(at, "", f"{rule}: the record does not hang together")
