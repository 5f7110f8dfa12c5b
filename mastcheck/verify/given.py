"""What a computation is told: the row's own words and numbers, and the tables that ship."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from mastcheck.errors import MastcheckError
from mastcheck.joint import PropertyClass, Thread
from mastcheck.laminate import Lamina
from mastcheck.material import Material
from mastcheck.units import Dimension, parse


@dataclass(frozen=True, slots=True, kw_only=True)
class Welded:
    """Strengths that welding leaves of a metal [Pa]."""

    proof_strength: float
    ultimate_strength: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shipped:
    """The tables of the package by name, SI units, as a mast file gets them."""

    materials: Mapping[str, Material]
    welded: Mapping[str, Welded]
    laminas: Mapping[str, Lamina]
    threads: Mapping[str, Thread]
    classes: Mapping[str, PropertyClass]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """A row's ``given``. A key that is missing or of another kind is an error that names it."""

    values: Mapping[str, Any]
    shipped: Shipped

    def number(self, key: str, default: float | None = None) -> float:
        """A plain number."""
        value = self.values.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise MastcheckError(f"given.{key} = {value!r}: want a number")
        return float(value)

    def words(self, key: str, default: str | None = None) -> str:
        """Words."""
        value = self.values.get(key, default)
        if not isinstance(value, str):
            raise MastcheckError(f"given.{key} = {value!r}: want words")
        return value

    def length(self, key: str) -> float:
        """A length with its unit [m]."""
        return parse(self.words(key), Dimension.LENGTH)

    def of(self, dimension: Dimension, key: str) -> float:
        """A quantity with its unit, in SI."""
        return parse(self.words(key), dimension)


Compute = Callable[[Given], float]
"""A computation: what it is told, to a value in SI."""
