"""Units of published values: computations give SI, the table keeps its source's unit."""

from __future__ import annotations

from mastcheck.errors import MastcheckError

_MM = 1e-3
_LB, _INCH = 4.4482216152605, 0.0254  # pound-force and inch, exact by definition

UNITS = {
    "": 1.0, "% c": 0.01,
    "mm": _MM, "mm²": _MM**2, "mm⁴": _MM**4, "mm⁶": _MM**6, "1/mm³": _MM**-3,
    "m/s": 1.0, "m²/s": 1.0, "Hz": 1.0, "kg/m": 1.0, "kg·m": 1.0, "kg/m³": 1.0,
    "N": 1.0, "kN": 1e3, "N·m": 1.0, "N·m²": 1.0, "N/m": 1.0, "mPa·s": 1e-3,
    "Pa": 1.0, "MPa": 1e6, "GPa": 1e9,
    "lb": _LB, "lb·in": _LB * _INCH, "lb·in²": _LB * _INCH**2, "lb/in": _LB / _INCH,
}  # fmt: skip
"""What one of each is in SI; a per cent is a hundredth."""


def from_si(value: float, unit: str) -> float:
    """A value in SI in a unit of the table.

    Raises: MastcheckError for a unit that the table does not know.

    >>> from_si(0.0144, "mm")
    14.4
    """
    if unit not in UNITS:
        raise MastcheckError(f"unit {unit!r} of the verification table: want one of {', '.join(UNITS)}")
    # Dividing by a power of ten that has no exact double would leave its last digit wrong.
    return float(f"{value / UNITS[unit]:.15g}")
