"""Markers of the solid models: one mast runs by default, the others with ``-m solid_all``."""

from __future__ import annotations

import pytest

MARKERS = (
    "solid: a mast as a solid model; needs gmsh and CalculiX (ccx), skipped without them",
    "solid_all: the solid models beyond the one that always runs; chosen with -m solid_all",
)


def pytest_configure(config: pytest.Config) -> None:
    for line in MARKERS:
        config.addinivalue_line("markers", line)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if "solid_all" in str(config.getoption("markexpr")):
        return
    left_out = [item for item in items if item.get_closest_marker("solid_all")]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
