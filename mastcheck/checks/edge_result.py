"""Edge radii of a mast, and what rounding its sharp edges would do. SI units."""

from __future__ import annotations

from dataclasses import dataclass

KNIFE = 5e-5
"""Below this radius [m] an edge is called sharp in words, and no number given."""

JUST_AT = 0.99
"""Radii just at the limit hold it: straight panels cost a measured radius up to 0.5 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRadii:
    """Radii of the leading (nose) and trailing edge (tail) [m] as built, at z [m] from the base.

    As ``section.measure.edge_radius`` finds them, like a radius gauge: an oval nose is sharper right at
    its end (measured: an ellipse's by a fifth, a NACA nose by an eighth).
    """

    z: float
    nose: float
    tail: float

    @property
    def least(self) -> float:
        """The sharper of the two."""
        return min(self.nose, self.tail)


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """Changes of a section's stiffness and mass, as shares of what it had."""

    EI_side: float
    EI_fore_aft: float
    GJ: float
    mass: float

    @property
    def words(self) -> str:
        """The changes as printed."""
        named = (
            ("EI side", self.EI_side),
            ("EI fore-aft", self.EI_fore_aft),
            ("GJ", self.GJ),
            ("mass", self.mass),
        )
        return ", ".join(
            f"{name} {f'{100 * share:+.1f} %' if abs(share) >= 5e-4 else 'under 0.1 %'}"
            for name, share in named
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounding:
    """What rounding the sharp edges of the section at z [m] to ``radius`` [m] does.

    ``filed``: material taken off the finished section, whose chord gets ``shorter`` [m] by it.
    ``redrawn``: made with that radius at the same chord, its outline stretched along the chord.
    Either is None where it could not be built.
    """

    z: float
    radius: float
    shorter: float
    filed: Change | None
    redrawn: Change | None


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeResult:
    """Edge radii along the mast, and where one is under ``limit`` [m] what rounding would do.

    ``rounding`` is None where no edge is too sharp, or where ``not_computed`` says why it is.
    """

    radii: tuple[EdgeRadii, ...]
    limit: float | None = None
    rounding: Rounding | None = None
    not_computed: str = ""

    @property
    def sharp(self) -> tuple[str, ...]:
        """The ends under the limit: 'nose', 'tail'."""
        if self.limit is None:
            return ()
        least = JUST_AT * self.limit
        return tuple(end for end in ("nose", "tail") if self.least(end) < least)

    def least(self, end: str) -> float:
        """The least radius of an end along the mast [m]."""
        return min(r.nose if end == "nose" else r.tail for r in self.radii)
