"""A group of bolts along z under a rigid plate: compliance, and the forces of each bolt.

Each bolt is a spring along z and one across it. Moments +Mx stretch bolts at +y, +My those at -x.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mastcheck.errors import InputError, Problem
from mastcheck.joint import BoltedPlate, BoltGroup
from mastcheck.joints.bolts import bolt_resilience, clamped_resilience, cone_diameter, preload

FloatArray = NDArray[np.float64]

AXIAL = (2, 3, 4)
"""Places of Fz, Mx, My in Fx Fy Fz Mx My Mz."""
IN_PLANE = (0, 1, 5)
_LINE = 1e-6  # spread of bolts across their line [m] below which they hold no moment about it


def positions(group: BoltGroup) -> FloatArray:
    """Places (n, 2) [m]."""
    return np.array(group.positions, dtype=float).reshape(-1, 2)


def axial_stiffness(group: BoltGroup) -> float:
    """Stiffness of one bolt's place along z [N/m].

    While the preload lasts bolt and clamped parts act side by side; without one the bolt alone. The
    insert is in line with either.
    """
    own = 1 / bolt_resilience(group)
    if clamped(group):
        own += 1 / clamped_resilience(group)
    return own if group.insert_stiffness is None else 1 / (1 / own + 1 / group.insert_stiffness)


def clamped(group: BoltGroup) -> bool:
    """Whether some preload is sure to be there."""
    force = preload(group)
    return force is not None and force.least > 0


def line_of(group: BoltGroup) -> FloatArray | None:
    """Direction (2,) of the line the bolts stand on; None where they spread; zero for one bolt."""
    at = positions(group)
    spread = at - at.mean(axis=0)
    _, size, along = np.linalg.svd(spread, full_matrices=False)
    if len(at) == 1 or size[0] < _LINE:
        return np.zeros(2)
    return along[0] if len(size) < 2 or size[1] < _LINE else None


def axial_rows(group: BoltGroup) -> FloatArray:
    """Stretch (n, 3) of each bolt per (w, θx, θy) of the plate: w + θx y - θy x."""
    at = positions(group)
    return np.column_stack([np.ones(len(at)), at[:, 1], -at[:, 0]])


def axial_matrix(group: BoltGroup) -> FloatArray:
    """Stiffness (3, 3) of the group for w, θx, θy.

    Bolts on one line hold a moment about it only through the width of what they clamp: a disc of the
    cone's diameter D under each, k D²/16.

    Raises: InputError for bolts on one line without a preload, which would fold about it.
    """
    k, rows = axial_stiffness(group), axial_rows(group)
    out: FloatArray = k * rows.T @ rows
    if line_of(group) is not None:
        if not clamped(group):
            raise InputError((fold(),))
        disc = k * cone_diameter(group) ** 2 / 16 * len(rows)
        out = out + np.diag([0.0, disc, disc])
    return out


def fold() -> Problem:
    """The fault of bolts that hold no moment about their own line."""
    return Problem(
        key="bolts",
        found="",
        rule="stand on one line and no preload is sure to be left: the joint would fold about it",
        remedy="state a torque or preload (or a greater one), or bolts beside the line",
    )


def in_plane_matrix(group: BoltGroup) -> FloatArray | None:
    """Stiffness (3, 3) of the group for u, v, θz; None where the inserts' shear is not stated."""
    k = group.insert_shear_stiffness
    if k is None:
        return None
    at = positions(group)
    n = len(at)
    out = np.zeros((3, 3))
    out[0, 0] = out[1, 1] = n * k
    out[0, 2] = out[2, 0] = -k * at[:, 1].sum()
    out[1, 2] = out[2, 1] = k * at[:, 0].sum()
    out[2, 2] = k * (at**2).sum()
    # One bolt alone holds the torque by the disc it clamps.
    out[2, 2] += k * cone_diameter(group) ** 2 / 8 if n == 1 else 0.0
    return out


def plate_compliance(group: BoltGroup) -> FloatArray:
    """Compliance (6, 6) of the bolted face about the stacking line, order Fx Fy Fz Mx My Mz.

    In its plane the face is rigid (zero) where the inserts' shear stiffness is not stated.
    """
    out = np.zeros((6, 6))
    out[np.ix_(AXIAL, AXIAL)] = np.linalg.inv(axial_matrix(group))
    plane = in_plane_matrix(group)
    if plane is not None:
        out[np.ix_(IN_PLANE, IN_PLANE)] = np.linalg.inv(plane)
    return out


def bolt_tension(group: BoltGroup, wrench: FloatArray, *, opening: bool = False) -> FloatArray:
    """Load along z on each bolt (n,) [N], tension positive, from a wrench (6,) about the stacking line.

    Equal springs under a rigid plate that turns about their centroid, which loads the outer bolts more
    than a plate that tips on its edge. A moment about the line of bolts that stand on one line is held
    by the edge of the face, all bolts pulling alike: half its extent away when it tips; ``opening``
    takes a sixth instead, where the far edge begins to lift. Where no face is stated it is the clamped
    cone's, half or an eighth of its diameter. Prying is left out.
    """
    at = positions(group)
    n = len(at)
    centre = at.mean(axis=0)
    force = wrench[2]
    about = np.array([wrench[3] - force * centre[1], wrench[4] + force * centre[0]])
    out = np.full(n, force / n)
    rows = np.column_stack([at[:, 1] - centre[1], centre[0] - at[:, 0]])
    line = line_of(group)
    if line is None:
        out += rows @ np.linalg.solve(rows.T @ rows, about)
        return out
    if line.any():
        held = about - (about @ line) * line
        out += rows @ held / (rows**2).sum()
        loose, arm = np.array([about @ line]), np.array([_arm(group, line, opening=opening)])
    else:
        loose, arm = about, np.array([_arm(group, d, opening=opening) for d in np.eye(2)])
    out += float((np.abs(loose) / arm).sum()) / n
    return out


def _arm(group: BoltGroup, axis: FloatArray, *, opening: bool) -> float:
    """From the bolts to the edge of the face, across an axis in it [m]; ``opening``: when it lifts."""
    if group.face is None:
        return cone_diameter(group) / (8 if opening else 2)
    extent = abs(axis[1]) * group.face[0] + abs(axis[0]) * group.face[1]
    return float(extent) / (6 if opening else 2)


def bolt_shear(group: BoltGroup, wrench: FloatArray) -> FloatArray:
    """Force across each bolt (n, 2) [N] from a wrench (6,): alike, and turning about the centroid."""
    at = positions(group)
    centre = at.mean(axis=0)
    n, arm = len(at), at - centre
    torque = wrench[5] - (centre[0] * wrench[1] - centre[1] * wrench[0])
    out = np.broadcast_to(wrench[:2] / n, (n, 2)).copy()
    polar = float((arm**2).sum())
    if polar > _LINE**2:
        out += torque / polar * np.column_stack([-arm[:, 1], arm[:, 0]])
    else:  # one bolt: the torque on the rim of what it clamps
        out[:, 0] += abs(torque) / (cone_diameter(group) / 2)
    return out


def remaining(joint: BoltedPlate) -> BoltGroup:
    """The bolts that hold: all of them, or all but the loose one."""
    return without_one(joint.bolts) if joint.loose_screw else joint.bolts


def loose_one(group: BoltGroup) -> int:
    """Place in the list of the bolt whose loss leaves the least spread; the first of equals."""
    at = positions(group)
    if len(at) < 2:
        return 0

    def spread(i: int) -> float:
        rest = np.delete(at, i, axis=0)
        return float(((rest - rest.mean(axis=0)) ** 2).sum())

    return min(range(len(at)), key=lambda i: (round(spread(i), 12), i))


def without_one(group: BoltGroup) -> BoltGroup:
    """The group without its loose bolt.

    Raises: InputError where that leaves none.
    """
    if len(group.positions) < 2:
        rule = "the only one is loose: nothing holds the joint"
        raise InputError((Problem(key="bolts", found="", rule=rule, remedy="state more bolts"),))
    gone = loose_one(group)
    return replace(group, positions=(*group.positions[:gone], *group.positions[gone + 1 :]))
