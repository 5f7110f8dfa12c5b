"""Shared test settings: the same examples on every run, so that a failure can be repeated."""

from __future__ import annotations

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    """One flag: write the kept results anew, on purpose."""
    parser.addoption("--update-golden", action="store_true", help="write the golden results anew")
