"""Shared test settings: the same examples on every run, so that a failure can be repeated."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

# A run in the background is deaf to Ctrl-C, and so would be every command that the tests start and stop.
if threading.current_thread() is threading.main_thread():
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Sections are kept in a folder of the tests' own, commands run as processes among them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("MASTCHECK_CACHE", str(tmp_path_factory.mktemp("sections")))
        yield


def pytest_addoption(parser: pytest.Parser) -> None:
    """One flag: write the kept results anew, on purpose."""
    parser.addoption("--update-golden", action="store_true", help="write the golden results anew")
