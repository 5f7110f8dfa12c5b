"""Every table of the results as a CSV file: all digits, units in the heads, text that stays text.

Numbers are those of the result file, so a column's name is that of its key there; what is empty is not
known, or has no end. A first column says which mast a row is of.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

from mastcheck.checks.result import Comparison, MastResult
from mastcheck.report.cells import letters
from mastcheck.report.csv_inputs import INPUTS
from mastcheck.report.csv_results import RESULTS
from mastcheck.report.csv_rows import Row, sheet
from mastcheck.report.inputs import file_words
from mastcheck.report.json import result_json
from mastcheck.report.verdict import verdict


def csv_files(comparison: Comparison) -> dict[str, bytes]:
    """Files by name, those that have rows: ``masts.csv``, ``stations.csv``, ``checks.csv`` and so on."""
    masts = comparison.masts
    names = letters(masts)
    found = json.loads(result_json(masts))
    tables: dict[str, list[Row]] = {
        "masts": [
            _mast(letter, m, told) for letter, m, told in zip(names, masts, found["masts"], strict=True)
        ],
        "cautions": [{"caution": words} for words in found["cautions"]],
        "ratios": list(_ratios(comparison, names)) if len(masts) > 1 else [],
    }
    for name, results in RESULTS.items():
        tables[name] = [
            {"mast": letter, **row}
            for letter, told in zip(names, found["masts"], strict=True)
            for row in results(told)
        ]
    for name, inputs in INPUTS.items():
        tables[name] = [
            {"mast": letter, **row} for letter, m in zip(names, masts, strict=True) for row in inputs(m)
        ]
    return {f"{name}.csv": sheet(rows) for name, rows in tables.items() if rows}


def _mast(letter: str, result: MastResult, told: dict[str, object]) -> Row:
    said = verdict(result)
    return {
        "mast": letter,
        "name": result.job.mast.name,
        "verdict": said["word"],
        "count": said["count"],
        "length_m": result.job.mast.length,
        "mass_kg": result.mass,
        "file": str(told["file"]),
        "input_sha256": str(told["input_sha256"]),
        "files": file_words(result.job),
    }


def _ratios(comparison: Comparison, names: list[str]) -> Iterator[Row]:
    for r in comparison.ratios:
        values = dict(zip(names, r.values, strict=True))
        over = dict(zip(names[1:], r.ratios[1:], strict=True))
        yield {
            "quantity": r.name,
            "unit": r.unit,
            **values,
            **{f"{name} over {names[0]}": v for name, v in over.items()},
        }
