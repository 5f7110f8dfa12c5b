"""Structural checks of surf-foil masts: stiffness, strength and stability from a mast file.

Four lines do a whole check; nothing prints and nothing is written::

    import mastcheck
    job = mastcheck.load("profiles/aluminium-75-wide.toml")
    result = mastcheck.check(job)
    result.stiffness.torsion_Nm_per_deg

The public names are imported when first used, so that ``import mastcheck`` stays light.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from mastcheck.checks.shown import write_with
from mastcheck.version import __version__ as __version__

if TYPE_CHECKING:
    from mastcheck import figures as figures
    from mastcheck.checks.result import (
        CaseResult,
        Check,
        Comparison,
        MastResult,
        Stiffness,
        Tip,
        Verdict,
    )
    from mastcheck.checks.run import check
    from mastcheck.errors import InputError, MastcheckError
    from mastcheck.files.mastfile import load
    from mastcheck.foil import Foil, Wing
    from mastcheck.job import Job
    from mastcheck.laminate import Lamina, Laminate, Ply
    from mastcheck.limit import Limit, Quantity
    from mastcheck.loadcase import Lift, LoadCase, Rider
    from mastcheck.mast import (
        Channel,
        Construction,
        Mast,
        ModifiedNaca,
        OutlineKind,
        SectionRecipe,
        SkinPly,
        Station,
        Wall,
        Web,
        Zone,
    )
    from mastcheck.material import Material

_HOME = {
    "CaseResult": "checks.result",
    "Channel": "mast",
    "Check": "checks.result",
    "Comparison": "checks.result",
    "Construction": "mast",
    "Foil": "foil",
    "InputError": "errors",
    "Job": "job",
    "Lamina": "laminate",
    "Laminate": "laminate",
    "Lift": "loadcase",
    "Limit": "limit",
    "LoadCase": "loadcase",
    "Mast": "mast",
    "MastResult": "checks.result",
    "MastcheckError": "errors",
    "Material": "material",
    "ModifiedNaca": "mast",
    "OutlineKind": "mast",
    "Ply": "laminate",
    "Quantity": "limit",
    "Rider": "loadcase",
    "SectionRecipe": "mast",
    "SkinPly": "mast",
    "Station": "mast",
    "Stiffness": "checks.result",
    "Tip": "checks.result",
    "Verdict": "checks.result",
    "Wall": "mast",
    "Web": "mast",
    "Wing": "foil",
    "Zone": "mast",
    "check": "checks.run",
    "compare": "checks.compare",
    "load": "files.mastfile",
}

__all__ = [
    "CaseResult",
    "Channel",
    "Check",
    "Comparison",
    "Construction",
    "Foil",
    "InputError",
    "Job",
    "Lamina",
    "Laminate",
    "Lift",
    "Limit",
    "LoadCase",
    "Mast",
    "MastResult",
    "MastcheckError",
    "Material",
    "ModifiedNaca",
    "OutlineKind",
    "Ply",
    "Quantity",
    "Rider",
    "SectionRecipe",
    "SkinPly",
    "Station",
    "Stiffness",
    "Tip",
    "Verdict",
    "Wall",
    "Web",
    "Wing",
    "Zone",
    "__version__",
    "check",
    "compare",
    "figures",
    "load",
]


def __getattr__(name: str) -> object:
    """Import a public name from its home module on first use."""
    if name == "figures":  # a module, which a bare "import mastcheck" has not brought
        return import_module("mastcheck.figures")
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """The public names, for completion in a notebook."""
    return sorted(__all__)


def _html(result: object) -> str:
    written: str = import_module("mastcheck.notebook").html(result)
    return written


def _markdown(result: object) -> str:
    written: str = import_module("mastcheck.notebook").markdown(result)
    return written


# Results show themselves in a notebook by what stands above them, and which is imported only then.
write_with("html", _html)
write_with("markdown", _markdown)
