"""A head wedged in a box, or a mast's end in a socket: two contacts an engagement length apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.joint import BoltGroup, Fitted
from mastcheck.joints.plate import AXIAL, axial_rows, axial_stiffness, without_one

FloatArray = NDArray[np.float64]


def screws_that_hold(joint: Fitted) -> BoltGroup | None:
    """The screws, without the loose one; None where none are left."""
    group = joint.screws
    if group is None or (joint.loose_screw and len(group.positions) < 2):
        return None
    return without_one(group) if joint.loose_screw else group


def fitted_matrix(joint: Fitted, towards: int) -> FloatArray:
    """Stiffness (6, 6) about the mast's end, without what holds it along z.

    ``towards``: +1 where the second contact lies on the foil's side of the end, -1 on the board's.
    """
    ky = joint.contact_stiffness
    kx = ky if joint.contact_stiffness_fore_aft is None else joint.contact_stiffness_fore_aft
    out = np.zeros((6, 6))
    for z in (0.0, towards * joint.engagement):
        # A point at z moves by u + θy z and v - θx z.
        along, across = np.zeros(6), np.zeros(6)
        along[[0, 4]] = 1.0, z
        across[[1, 3]] = 1.0, -z
        out += kx * np.outer(along, along) + ky * np.outer(across, across)
        out[5, 5] += ky * joint.chord**2 / 4  # half the spring at nose and at tail
    return out


def _whole_matrix(joint: Fitted, towards: int) -> tuple[FloatArray, bool]:
    """Stiffness (6, 6), and whether something is stated to hold it along z."""
    out, held = fitted_matrix(joint, towards), False
    if joint.axial_stiffness is not None:
        out[2, 2] += joint.axial_stiffness
        held = True
    screws = screws_that_hold(joint)
    if screws is not None:
        rows = axial_rows(screws)
        out[np.ix_(AXIAL, AXIAL)] += axial_stiffness(screws) * rows.T @ rows
        held = True
    return out, held


def fitted_compliance(joint: Fitted, *, towards: int) -> FloatArray:
    """Compliance (6, 6) for loads at the mast's end, its clearance taken up.

    Along z it is rigid where neither screws nor an axial stiffness are stated.
    """
    k, held = _whole_matrix(joint, towards)
    kept = [i for i in range(6) if held or i != 2]
    out = np.zeros((6, 6))
    out[np.ix_(kept, kept)] = np.linalg.inv(k[np.ix_(kept, kept)])
    return out


def screw_tension(joint: Fitted, wrench: FloatArray, *, towards: int) -> FloatArray | None:
    """Load along z on each screw that holds (n,) [N], beside the contacts; None without screws."""
    screws = screws_that_hold(joint)
    if screws is None:
        return None
    k, _ = _whole_matrix(joint, towards)
    moved = np.linalg.solve(k, wrench)
    out: FloatArray = axial_stiffness(screws) * axial_rows(screws) @ moved[list(AXIAL)]
    return out
