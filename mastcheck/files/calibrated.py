"""A mast file with what a bench found: the original's text, with joints and factors changed."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mastcheck.bench.change import Calibrated
from mastcheck.errors import InputError, Problem, escaped
from mastcheck.files.written import toml_text

FloatArray = NDArray[np.float64]

TERMS = ("fore_aft", "side", "axial", "roll", "pitch", "twist")
"""Stiffness keys of a given joint, in the order Fx Fy Fz Mx My Mz."""


def calibrated_text(path: Path, found: Calibrated, said: Iterable[str]) -> str:
    """The mast file at ``path`` with a [calibration] table and its joints replaced by given ones.

    Args:
        path: the original.
        found: what the bench found.
        said: lines for the head of the file.

    Raises: InputError when the file writes these tables in a way that cannot be replaced line by line.
    """
    text = path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    before = tomllib.loads(text)
    tables = ["calibration"]
    tables += ["base_joint"] if found.base is not None else []
    tables += ["tip_joint"] if found.tip is not None else []
    kept = _without(text, tables)
    expected = {key: value for key, value in before.items() if key not in tables}
    if _read(kept) != expected:
        names = ", ".join(f"[{name}]" for name in tables)
        rule = f"{names}: cannot be told from the lines around"
        remedy = "write each as a table of its own, under its name in brackets"
        raise InputError((Problem(key=str(path), found="", rule=rule, remedy=remedy),))
    head = "".join(f"# {escaped(line)}".rstrip() + "\n" for line in said)
    parts = [head.rstrip("\n"), kept.strip("\n"), _calibration(found)]
    for name, joint in (("base_joint", found.base), ("tip_joint", found.tip)):
        if joint is not None:
            parts.append(_given(name, joint))
    return "\n\n".join(parts) + "\n"


def _without(text: str, tables: Iterable[str]) -> str:
    """The lines outside some tables and their own tables."""
    names = "|".join(re.escape(name) for name in tables)
    own = re.compile(rf"\s*\[\s*\"?({names})\"?\s*(\.[^\]]*)?\]\s*(#.*)?")
    other = re.compile(r"\s*\[\[?[^\[\]]+\]\]?\s*(#.*)?")
    out, skipping = [], False
    for line in text.split("\n"):
        if own.fullmatch(line):
            skipping = True
        elif other.fullmatch(line):
            skipping = False
        if not skipping:
            out.append(line)
    return "\n".join(out)


def _read(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except ValueError:
        return None


def _calibration(found: Calibrated) -> str:
    return "\n".join(
        [
            "[calibration]                 # stiffness over the calculated one; strength and mass stay",
            f"factor_EI_side = {found.factor_EI_side:.5g}",
            f"factor_EI_fore_aft = {found.factor_EI_fore_aft:.5g}",
            f"factor_GJ = {found.factor_GJ:.5g}",
            f"source = {toml_text(found.source)}",
        ]
    )


def _given(name: str, compliance: FloatArray) -> str:
    """A given joint; six stiffnesses where nothing couples them, else the compliance."""
    lines = [f"[{name}]", 'kind = "given"']
    diagonal = np.diag(np.diag(compliance))
    if np.array_equal(diagonal, compliance):
        for k, term in enumerate(TERMS):
            c = float(compliance[k, k])
            if c <= 0:
                continue
            stiffness = f"{1e-3 / c:.6g} N/mm" if k < 3 else f"{math.radians(1) / c:.6g} N m/deg"
            lines.append(f'{term}_stiffness = "{stiffness}"')
        if len(lines) == 2:
            lines.append("compliance = [" + ", ".join(["[0, 0, 0, 0, 0, 0]"] * 6) + "]")
    else:
        rows = ["  [" + ", ".join(f"{v:.6g}" for v in row) + "]," for row in compliance]
        lines += ["compliance = [", *rows, "]"]
    return "\n".join(lines)
