"""Whole checks of changed masts that are still read: finite numbers in the result, or a refusal.

``python -m tests.fuzz.checks --masts 300`` tries some hundreds.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
import warnings
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz import toml_files
from tests.fuzz.readers import READERS, prepare
from tests.fuzz.run import Count
from tests.fuzz.trial import Outcome, tried

LONGEST = 60
"""Seconds of the processor that a check may take."""

TRIES = 200
"""Masts made before one is given up that can be read."""


def content(number: int, folder: Path) -> bytes:
    """A mast file made of a shipped one whose values are changed, and that is read."""
    rng = Random(f"check {number}")
    reader = READERS["mast"]
    path = folder / f"read-{reader.name}"
    for _ in range(TRIES):
        made = toml_files.valued(rng, reader.seeds(), most=rng.choice((3, 6, 15)))
        path.write_bytes(made)
        if tried(reader.read, path).kind == "result":
            return made
    raise RuntimeError("no mast could be read")


def checked(number: int, folder: Path) -> Outcome:
    """Check one such mast, as the command would, and look through its result file."""
    path = folder / "check.toml"
    path.write_bytes(content(number, folder))
    return tried(_check, path, LONGEST)


def _check(path: Path) -> None:
    from mastcheck.checks.compare import compare
    from mastcheck.checks.run import check
    from mastcheck.errors import InputError, MastcheckError, Problem
    from mastcheck.files.mastfile import load
    from mastcheck.report.json import result_json
    from mastcheck.section.store import without

    try:
        with without(when=True):
            result = check(load(path))
        text = result_json(compare([result]).masts)
    except InputError:
        raise
    except MastcheckError as error:  # a plain line at the command line too
        raise InputError((Problem(key="check", found="", rule=str(error)),)) from error
    if place := not_finite(json.loads(text)):
        raise ValueError(f"{place} is not finite")


def not_finite(value: Any, place: str = "") -> str:
    """The first place of a number that is not finite, nothing where all are."""
    if isinstance(value, float) and not math.isfinite(value):
        return place
    if isinstance(value, dict):
        parts = [(f"{place}.{key}" if place else key, part) for key, part in value.items()]
    elif isinstance(value, list):
        parts = [(f"{place}[{i}]", part) for i, part in enumerate(value)]
    else:
        return ""
    return next((found for name, part in parts if (found := not_finite(part, name))), "")


def main() -> int:
    """Check many; 1 where a fault was found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.checks", allow_abbrev=False)
    parser.add_argument("--masts", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    given = parser.parse_args()
    warnings.simplefilter("error")
    count = Count("check")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder)
        for number in range(given.first, given.first + given.masts):
            outcome = checked(number, folder)
            count.add(number, outcome)
            if outcome.kind == "fault":
                print(f"mast {number}: {outcome.where}: {outcome.told}", flush=True)
    print(count.line())
    for fault in count.faults.values():
        print(f"  {fault.line()}")
    return int(bool(count.faults))


if __name__ == "__main__":
    sys.exit(main())
