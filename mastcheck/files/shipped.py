"""The tables of the package as the verification takes them: through the same doors as a mast file."""

from __future__ import annotations

from mastcheck.files.bolt_data import property_classes, threads
from mastcheck.files.materials import entries, laminas, library
from mastcheck.verify.given import Shipped, Welded


def shipped() -> Shipped:
    """Materials, what welding leaves of them, plies, threads and bolt classes, by name."""
    welded = {
        e.name: Welded(proof_strength=e.haz.proof_strength, ultimate_strength=e.haz.ultimate_strength)
        for e in entries()
        if e.haz is not None
    }
    return Shipped(
        materials=library(),
        welded=welded,
        laminas=laminas(),
        threads=threads(),
        classes=property_classes(),
    )
