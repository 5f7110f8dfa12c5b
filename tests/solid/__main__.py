"""Print beam and solid side by side: ``python -m tests.solid [MAST ...]``."""

from __future__ import annotations

import sys
from collections.abc import Iterable

import numpy as np

from tests.solid import compare
from tests.solid.masts import MASTS


def table(name: str) -> Iterable[str]:
    """Lines of one mast's table."""
    of = compare.known(name)
    yield f"{name}: {len(of.solid.nodes)} nodes, {len(of.solid.wedges)} quadratic wedges"
    yield f"  {'':38s}{'without coupling':>18s}{'beam':>14s}{'solid':>14s}{'without':>10s}{'with':>9s}"
    for rigid in (False, True):
        for what, plain, coupled, solid in compare.rows(of, rigid=rigid):
            yield (
                f"  {what + (', rigid tip' if rigid else ''):49s}"
                f"{plain: .5e}  {coupled: .5e}  {solid: .5e}"
                f"  {100 * (plain / solid - 1):+7.2f} %{100 * (coupled / solid - 1):+7.2f} %"
            )
    for i, (ours, theirs) in enumerate(zip(*compare.frequencies(of), strict=True)):
        yield line(f"frequency {i + 1} [Hz]", ours, theirs)
    ours, theirs = compare.buckling_loads(of)
    yield line("buckling load [N]", ours, theirs)
    far = compare.away_from_corners(of)
    for what, column, force, part in (
        ("bending stress, 100 N side force", 1, 100.0, [0]),
        ("bending stress, 100 N fore-aft force", 0, 100.0, [0]),
        ("shear stress, 10 N·m torque", 5, 10.0, [1, 2]),
    ):
        bent, meshed = (force * v[:, part, column] for v in compare.middle_stress(of))
        top = np.abs(bent[far]).max()
        yield (
            f"  {what}: greatest {top / 1e6:.4f} and {np.abs(meshed[far]).max() / 1e6:.4f} MPa,"
            f" furthest apart {100 * np.abs(bent - meshed)[far].max() / top:.2f} % of that"
            f" ({100 * np.abs(bent - meshed).max() / top:.2f} % at the corners of a hollow)"
        )


def line(what: str, ours: float, theirs: float) -> str:
    """A row without the column of the uncoupled beam."""
    return f"  {what:63s}{ours:12.6g}  {theirs:12.6g}{'':10s}{100 * (ours / theirs - 1):+9.2f} %"


if __name__ == "__main__":
    reason = compare.missing()
    if reason:
        sys.exit(reason)
    for name in sys.argv[1:] or MASTS:
        for row in table(name):
            print(row, flush=True)
