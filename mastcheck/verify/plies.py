"""First-ply failure of laminates as a check finds it: from the strain of the wall to the worst ply."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from mastcheck.errors import MastcheckError
from mastcheck.laminate import membrane
from mastcheck.strength.plies import ply_utilisations
from mastcheck.units import Dimension
from mastcheck.verify.given import Compute, Given
from mastcheck.verify.laminates import layup


def _first_failure(given: Given) -> float:
    """Multiple of a wall's mean stress at which its first ply fails, by the criterion ``by``.

    ``along``: mean stress along the mast, ``shear``: in the wall. No partial factor.
    """
    lamina = replace(given.shipped.laminas[given.words("lamina")], gamma=1.0)
    laminate = layup(lamina, given.words("layup"), given.length("ply"))
    wall = membrane(laminate)
    eps = given.of(Dimension.STRESS, "along") / wall.E
    gamma = given.of(Dimension.STRESS, "shear") / wall.G
    plies = ply_utilisations(laminate, np.array([eps]), np.array([gamma]))
    match given.words("by"):
        case "Tsai-Wu":
            used = [p.tsai_wu for p in plies]
        case "maximum strain":
            used = [p.max_strain for p in plies]
        case other:
            raise MastcheckError(f"given.by = {other!r}: want Tsai-Wu or maximum strain")
    return 1 / float(np.max(used))


COMPUTATIONS: dict[str, Compute] = {"first ply failure": _first_failure}
