"""What of a fit goes into a mast file: factors on the blade, and joints with their fitted turns."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.change import Calibrated
from mastcheck.bench.design import GROUPS
from mastcheck.bench.fit import BenchFit, Status
from mastcheck.bench.summary import softness
from mastcheck.errors import escaped
from mastcheck.job import Job
from mastcheck.joints.chain import joint_compliance

FloatArray = NDArray[np.float64]

LONGEST_FILE_NAME = 300
"""Characters of a file's name that are written: more than a folder can hold, escapes apart."""

_TURNS = {"roll": 3, "pitch": 4, "twist": 5}


def calibrated(job: Job, fit: BenchFit, readings_file: str) -> tuple[Calibrated, list[str]]:
    """The change to the mast file, and lines that say where it comes from.

    A joint is replaced by a given one only where one of its turns was fitted; the movements that were
    not keep the file's own compliance. Adapters stay as they are: their turns are part of what was
    fitted, and are taken off again.
    """
    old = job.mast.calibration
    factors = {
        name: (getattr(old, f"factor_{name}") if old else 1.0) / fit.unknown(name).value
        for name in ("EI_side", "EI_fore_aft", "GJ")
    }
    base = _joint(
        fit, "base", None if job.joints.base is None else joint_compliance(job.joints.base, towards=-1)
    )
    tip = _joint(
        fit, "tip", None if job.joints.tip is None else joint_compliance(job.joints.tip, towards=1)
    )
    # A file's name may hold anything; what is written of it is read again, as one line of text.
    readings_file = escaped(readings_file)[:LONGEST_FILE_NAME]
    source = f"bench readings {readings_file}, {int(fit.used.sum())} used of {len(fit.readings)}"
    said = [
        f"Calibrated from bench readings: {readings_file}, with the mast file {job.file}.",
        f"Input hash of that file: {job.input_sha256[:16]}",
        "Fitted: " + (", ".join(fit.names) or "nothing"),
    ]
    held = [u.name for u in fit.unknowns if u.status in (Status.NOT_SEPARATED, Status.NOT_SEEN)]
    said.append("Held as calculated, the readings do not tell: " + ", ".join(held))
    said += [
        f"{s.direction}: tip {100 * s.softer:+.1f} % (± {100 * s.interval:.1f}, 99 %) softer than "
        f"calculated"
        for s in softness(fit)
        if s.softer is not None and s.interval is not None
    ]
    said += [
        f"Free play in {p.name.replace('_', ' ')}: {np.degrees(p.value):.3f} deg"
        f" (± {np.degrees(p.interval):.3f}, 99 %); not in this file's stiffness"
        for p in fit.plays
        if p.status is Status.FITTED and p.interval is not None
    ]
    for name, joint in (("base", base), ("tip", tip)):
        if joint is not None and getattr(job.joints, name) is not None:
            said.append(
                f"The {name} joint's own description gave way to a given stiffness: its bolts, "
                f"play and metals are"
                " no longer checked here; keep checking the file this was made from."
            )
    if any(factor < 0.95 for factor in factors.values()):
        said.append(
            "A blade softer than calculated may have thinner walls: its strength is NOT reduced "
            "here. Measure the wall."
        )
    change = Calibrated(
        factor_EI_side=factors["EI_side"],
        factor_EI_fore_aft=factors["EI_fore_aft"],
        factor_GJ=factors["GJ"],
        base=base,
        tip=tip,
        source=source,
    )
    return change, said


def _joint(fit: BenchFit, end: str, own: FloatArray | None) -> FloatArray | None:
    """The joint's compliance (6, 6) with its fitted turns; None where none was fitted."""
    fitted = [
        u for names in GROUPS.values() for n in names
        if n.startswith(end) and n in fit.names
        for u in [fit.unknown(n)]
    ]  # fmt: skip
    if not fitted:
        return None
    out = np.zeros((6, 6)) if own is None else own.copy()
    for u in fitted:
        k = _TURNS[u.name.split("_")[1]]
        out[k, k] = max(float(out[k, k]) + u.value - u.nominal, 0.0)
    return out
