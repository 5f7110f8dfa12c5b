"""Limits the user sets; a value without a limit is reported, not judged."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """Tip quantities that a limit may name (absolute values)."""

    SIDE_DEFLECTION = "side_deflection"  # m
    FORE_AFT_DEFLECTION = "fore_aft_deflection"  # m
    ROLL = "roll"  # rad
    PITCH = "pitch"  # rad
    TWIST = "twist"  # rad

    @property
    def is_length(self) -> bool:
        """Whether it is a movement [m]; else a rotation [rad]."""
        return self in (Quantity.SIDE_DEFLECTION, Quantity.FORE_AFT_DEFLECTION)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Largest allowed absolute value of a tip quantity [m or rad] in a named case."""

    quantity: Quantity
    case: str
    maximum: float
