"""Plain rows out of the nested data of a result file: a column a value, units in the column's name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from mastcheck.spreadsheet import Cell, csv_bytes

Row = dict[str, Cell]
_LONGEST = 3
"""Numbers in a list that is a place or a band; a longer one is a row of a table of its own."""


def flat(node: Mapping[str, Any], but: Sequence[str] = ()) -> Row:
    """One row: nested values under joined names, places by axis, bands as from and to, words joined.

    Tables and long lists in it are left out, and so are the keys in ``but``.

    >>> flat({"tip": {"side_mm": 2.0}, "at_xy_m": [0.1, 0.2], "speeds_m_per_s": [3, 12], "x": [{}]})
    {'tip_side_mm': 2.0, 'at_x_m': 0.1, 'at_y_m': 0.2, 'from_speeds_m_per_s': 3, 'to_speeds_m_per_s': 12}
    """
    out: Row = {}
    for key, value in node.items():
        if key in but:
            continue
        if isinstance(value, Mapping):
            out |= {f"{key}_{inner}": v for inner, v in flat(value).items()}
        elif isinstance(value, list):
            out |= _listed(key, value)
        else:
            out[key] = value
    return out


def _listed(key: str, values: list[Any]) -> Row:
    if all(isinstance(v, str) for v in values):
        return {key: "; ".join(values)}
    if len(values) > _LONGEST or any(isinstance(v, Mapping | list) for v in values):
        return {}
    if len(values) == len("xyz"):
        name, _, unit = key.rpartition("_")
        return {f"{name}_{axis}_{unit}": v for axis, v in zip("xyz", values, strict=True)}
    if "_xy_" in key:
        return {key.replace("_xy_", f"_{axis}_"): v for axis, v in zip("xy", values, strict=True)}
    if len(values) == len(("from", "to")):
        return {f"{end}_{key}": v for end, v in zip(("from", "to"), values, strict=True)}
    return {}


def series(node: Mapping[str, Any], length: int) -> Iterator[Row]:
    """Rows out of lists that run side by side: those of ``length`` numbers.

    >>> list(series({"z_m": [0, 1], "side": [0, 5], "kind": "x"}, 2))
    [{'z_m': 0, 'side': 0}, {'z_m': 1, 'side': 5}]
    """
    columns = {
        key: values for key, values in node.items() if isinstance(values, list) and len(values) == length
    }
    for i in range(length):
        yield {key: values[i] for key, values in columns.items()}


def sheet(rows: Sequence[Row]) -> bytes:
    """A CSV file of rows; columns in the order in which they first come.

    A value that one row has in parts and another not at all keeps the parts' columns alone.
    """
    columns = list(dict.fromkeys(key for row in rows for key in row))
    empty = {c for c in columns if all(row.get(c) is None for row in rows)}
    split = {c for c in empty if any(d.startswith((f"{c}_", f"from_{c}")) for d in columns)}
    split |= {c for c in empty if any(d == c.replace("_xy_", "_x_") != c for d in columns)}
    kept = [c for c in columns if c not in split]
    return csv_bytes(kept, ([row.get(c) for c in kept] for row in rows))
