"""CalculiX as a program: its input deck, one run in a folder of its own, its printed results.

Manual: Dhondt, CalculiX CrunchiX User's Manual, version 2.20: keywords *RIGID BODY, *BUCKLE,
*FREQUENCY, *NODE PRINT, *EL PRINT; element C3D15 (numbering and integration points).
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mastcheck.material import Material
from tests.solid.mesh import Solid

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

NAMES = ("ccx", "ccx_2.20", "ccx_2.21", "ccx_2.22", "ccx_2.23")


def program() -> str | None:
    """The CalculiX program on this machine, or None."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


def model_lines(
    solid: Solid, material: Material, *, rigid_tip: FloatArray | None = None, held: bool = True
) -> list[str]:
    """Deck lines of the model: nodes, elements, material, the fixed root.

    Args:
        solid: the mesh.
        material: isotropic.
        rigid_tip: (3,) point [m] that the tip face is tied to as one rigid body; None leaves it free.
        held: whether the root face is fixed.
    """
    n = len(solid.nodes)
    lines = ["*NODE, NSET=ALL"]
    lines += [f"{i + 1}, {x:.12e}, {y:.12e}, {z:.12e}" for i, (x, y, z) in enumerate(solid.nodes)]
    lines.append("*ELEMENT, TYPE=C3D15, ELSET=BLADE")
    for e, wedge in enumerate(solid.wedges + 1):
        # A line holds at most 16 entries.
        lines.append(", ".join(map(str, (e + 1, *wedge))))
    lines += node_set("ROOT", solid.root + 1) + node_set("TIP", solid.tip + 1)
    lines += ["*MATERIAL, NAME=M", "*ELASTIC", f"{material.E:.12e}, {material.nu:.12e}"]
    lines += ["*DENSITY", f"{material.density:.12e}", "*SOLID SECTION, ELSET=BLADE, MATERIAL=M"]
    if rigid_tip is not None:
        at = ", ".join(f"{v:.12e}" for v in rigid_tip)
        lines += ["*NODE, NSET=REF", f"{n + 1}, {at}", "*NODE, NSET=TURN", f"{n + 2}, {at}"]
        lines.append(f"*RIGID BODY, NSET=TIP, REF NODE={n + 1}, ROT NODE={n + 2}")
    if held:
        lines += ["*BOUNDARY", "ROOT, 1, 3"]
    return lines


def node_set(name: str, numbers: Iterable[int]) -> list[str]:
    """A named set of nodes, numbered from one."""
    return [f"*NSET, NSET={name}", *(f"{i}," for i in numbers)]


def nodal_loads(nodes: IntArray, forces: FloatArray) -> list[str]:
    """*CLOAD of forces (n, 3) [N] at nodes (n,), counted from zero, replacing all loads before."""
    lines = ["*CLOAD, OP=NEW"]
    for node, force in zip(nodes, forces, strict=True):
        lines += [f"{node + 1}, {k + 1}, {f:.12e}" for k, f in enumerate(force) if f != 0.0]
    return lines


def run(folder: Path, name: str, lines: Sequence[str], *, seconds: float = 600.0) -> Path:
    """Run a deck; returns the path of its results without the ending.

    Raises: RuntimeError with the end of what the program printed, when it fails.
    """
    ccx = program()
    if ccx is None:
        raise RuntimeError("CalculiX (ccx) is not installed")
    (folder / f"{name}.inp").write_text("\n".join(lines) + "\n", encoding="ascii")
    threads = os.environ.get("OMP_NUM_THREADS", "1")
    done = subprocess.run(
        [ccx, "-i", name],
        cwd=folder,
        env={**os.environ, "OMP_NUM_THREADS": threads},
        capture_output=True,
        text=True,
        timeout=seconds,
        check=False,
    )
    if done.returncode or "*ERROR" in done.stdout or "Job finished" not in done.stdout:
        raise RuntimeError(f"CalculiX failed on {name}:\n{done.stdout[-3000:]}{done.stderr[-500:]}")
    return folder / name


def printed(path: Path) -> list[tuple[str, FloatArray]]:
    """The tables of a .dat file in order: heading and rows of numbers."""
    tables: list[tuple[str, list[list[float]]]] = []
    for line in path.with_suffix(".dat").read_text().splitlines():
        words = line.split()
        if not words:
            continue
        try:
            row = [float(w) for w in words]
        except ValueError:
            tables.append((" ".join(words), []))
            continue
        if tables:
            tables[-1][1].append(row)
    return [(head, np.array(rows)) for head, rows in tables if rows]


def tables(path: Path, title: str, what: str) -> list[FloatArray]:
    """The tables of one quantity and one set, a step each, by the start of their heading."""
    wanted = re.compile(rf"{re.escape(title)} .*for set {re.escape(what)} ")
    return [table for head, table in printed(path) if wanted.match(head)]


def displacements(path: Path, what: str) -> list[tuple[IntArray, FloatArray]]:
    """Nodes (from zero) and displacements (n, 3) [m] of a node set, one table a step."""
    found = tables(path, "displacements", what)
    return [(t[:, 0].astype(np.int64) - 1, t[:, 1:4]) for t in found]


def frequencies(path: Path) -> FloatArray:
    """Natural frequencies [Hz] of the eigenvalue table."""
    table = _after(path, "E I G E N V A L U E O U T P U T")
    return np.asarray(table[:, 3])


def buckling_factors(path: Path) -> FloatArray:
    """Buckling factors of the buckling table."""
    return np.asarray(_after(path, "B U C K L I N G F A C T O R O U T P U T")[:, 1])


def _after(path: Path, title: str) -> FloatArray:
    text = path.with_suffix(".dat").read_text()
    lines = iter(text.splitlines())
    for line in lines:
        if " ".join(line.split()) == title:
            break
    rows: list[list[float]] = []
    for line in lines:
        try:
            row = [float(w) for w in line.split()]
        except ValueError:
            if rows:
                break
            continue
        if row:
            rows.append(row)
    if not rows:
        raise RuntimeError(f"{path} has no table {title}")
    return np.array(rows)
