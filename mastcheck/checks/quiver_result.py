"""What a check found of each wing that a mast is ridden with: plain frozen data, SI units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WingResult:
    """The whole check of one mast with one of its wings, in short.

    ``area`` [m²] and ``span`` [m], None where the foil has no wing. ``failed``: whether a limit is
    exceeded or a case is unstable; ``passed``: whether a limit was held, so that neither means not
    judged. ``check`` and ``case`` (empty for a check of no case) name the judged check of largest
    ``utilisation``, the failed ones before the others; None where nothing was judged, and
    ``utilisation`` None too where a failed check has no number (an unstable case). ``failures``: every
    failed check by name and case. ``stability_factor``: least over the cases (inf: none buckles, or no
    case). ``divergence_speed`` [m/s], inf where there is none, and ``twist_frequency`` [Hz], first
    twist mode in water; None where not found. ``governs``: whether
    the mast's result is that of this wing.
    """

    name: str
    area: float | None
    span: float | None
    failed: bool
    passed: bool
    check: str | None
    case: str
    utilisation: float | None
    failures: tuple[tuple[str, str], ...]
    stability_factor: float
    divergence_speed: float | None
    twist_frequency: float | None
    governs: bool = False
