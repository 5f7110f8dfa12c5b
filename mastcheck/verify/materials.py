"""The materials that ship, as a mast file gets them, against the tables they were taken from."""

from __future__ import annotations

from mastcheck.errors import MastcheckError
from mastcheck.verify.given import Compute, Given


def _some(value: float | None, name: str) -> float:
    if value is None:
        raise MastcheckError(f"{name} has no such strength")
    return value


def _proof(given: Given) -> float:
    """Proof strength [Pa]."""
    name = given.words("name")
    return _some(given.shipped.materials[name].proof_strength, name)


def _ultimate(given: Given) -> float:
    """Ultimate strength [Pa]."""
    name = given.words("name")
    return _some(given.shipped.materials[name].ultimate_strength, name)


def _design(given: Given) -> float:
    """What stress is held against [Pa]."""
    name = given.words("name")
    return _some(given.shipped.materials[name].design_strength, name)


def _modulus(given: Given) -> float:
    """E [Pa]."""
    return given.shipped.materials[given.words("name")].E


def _shear_modulus(given: Given) -> float:
    """G [Pa]."""
    return given.shipped.materials[given.words("name")].G


def _density(given: Given) -> float:
    """Density [kg/m³]."""
    return given.shipped.materials[given.words("name")].density


def _welded_proof(given: Given) -> float:
    """What welding leaves of the proof strength, over it."""
    name = given.words("name")
    return given.shipped.welded[name].proof_strength / _proof(given)


def _welded_ultimate(given: Given) -> float:
    """What welding leaves of the ultimate strength, over it."""
    name = given.words("name")
    return given.shipped.welded[name].ultimate_strength / _ultimate(given)


def _lamina(given: Given) -> float:
    """A constant of a ply by its symbol [Pa, or none for nu12]."""
    lamina = given.shipped.laminas[given.words("name")]
    values = {
        "E1": lamina.E1, "E2": lamina.E2, "G12": lamina.G12, "nu12": lamina.nu12,
        "Xt": lamina.Xt, "Xc": lamina.Xc, "Yt": lamina.Yt, "Yc": lamina.Yc, "S12": lamina.S12,
    }  # fmt: skip
    return _some(values[given.words("of")], lamina.name)


COMPUTATIONS: dict[str, Compute] = {
    "proof strength": _proof,
    "ultimate strength": _ultimate,
    "design strength": _design,
    "modulus": _modulus,
    "shear modulus": _shear_modulus,
    "density": _density,
    "proof strength after welding": _welded_proof,
    "ultimate strength after welding": _welded_ultimate,
    "ply constant": _lamina,
}
