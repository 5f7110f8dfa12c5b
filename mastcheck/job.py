"""All that one check needs, read from a mast file or built in Python."""

from __future__ import annotations

from dataclasses import dataclass, field

from mastcheck.limit import Limit
from mastcheck.loadcase import STANDARD_CASES, LoadCase, Rider
from mastcheck.mast import Mast


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A mast, a rider, load cases and limits.

    ``wet_fraction``: part of the length, from the tip up, that is under water (common
    practice, no source). ``file`` and ``input_sha256`` name what was read, empty when built
    in Python; ``outline_files`` are the (name as written, SHA-256) of the drawings and coordinates
    it names, and are part of ``input_sha256``. ``notes``: what was assumed because the file was
    silent.
    """

    mast: Mast
    rider: Rider = field(default_factory=Rider)
    cases: tuple[LoadCase, ...] = STANDARD_CASES
    limits: tuple[Limit, ...] = ()
    wet_fraction: float = 0.6
    file: str = ""
    input_sha256: str = ""
    outline_files: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
