"""Shared test settings: the same examples on every run, so that a failure can be repeated."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Sections are kept in a folder of the tests' own, commands run as processes among them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MASTCHECK_CACHE", str(tmp_path_factory.mktemp("sections")))
        yield


def pytest_addoption(parser: pytest.Parser) -> None:
    """One flag: write the kept results anew, on purpose."""
    parser.addoption("--update-golden", action="store_true", help="write the golden results anew")
