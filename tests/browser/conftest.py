"""The page in a real browser: the system's Chromium, without a network. Skipped where it is missing."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Comparison
from mastcheck.checks.run import check
from mastcheck.cli.page import told
from mastcheck.files.mastfile import load
from mastcheck.page.build import page as whole_page

PROFILES = Path(__file__).parents[2] / "profiles"
PHONE, DESK = (390, 844), (1280, 900)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Chromium as the system has it; the reason is said where there is none."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    names = ("chromium", "chromium-browser", "google-chrome")
    found = next((path for name in names if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("no Chromium on this machine: the page is not tried in a browser")
    with sync_api.sync_playwright() as play:
        # As root Chromium refuses its sandbox; what it opens here is our own file.
        running = play.chromium.launch(
            executable_path=found, args=["--no-sandbox", "--disable-background-networking"]
        )
        yield running
        running.close()


@dataclass
class Opened:
    """A page in the browser, what it asked the network for, and what went wrong in it."""

    page: Any
    context: Any
    requests: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def settled(self) -> None:
        """Wait until every case has been worked out after the last change."""
        self.until("!window.mastcheck.busy()")

    def until(self, condition: str) -> None:
        """Wait until a condition holds; the page's own policy forbids the library's way of polling."""
        for _ in range(1500):
            if self.page.evaluate(condition):
                return
            self.page.wait_for_timeout(20)
        raise AssertionError(f"never came to hold: {condition}")


Open = Callable[..., Opened]


@pytest.fixture
def open_page(browser: Any) -> Iterator[Open]:
    """Open a file; further words are the browser context's (``color_scheme``…)."""
    with ExitStack() as stack:

        def opened(file: Path, size: tuple[int, int] = DESK, hash_: str = "", **settings: Any) -> Opened:
            width, height = size
            context = browser.new_context(viewport={"width": width, "height": height}, **settings)
            stack.callback(context.close)
            address = file.absolute().as_uri()
            one = Opened(page=context.new_page(), context=context)
            context.route("**/*", lambda route: _only(route, address, one.requests))
            one.page.on("console", lambda m: one.faults.append(f"{m.type}: {m.text}"))
            one.page.on("pageerror", lambda e: one.faults.append(str(e)))
            one.page.goto(address + hash_)
            return one

        yield opened


def _only(route: Any, address: str, requests: list[str]) -> None:
    """Let the file itself through; note and stop all else."""
    if route.request.url.split("#")[0] == address:
        route.continue_()
    else:
        requests.append(route.request.url)
        route.abort()


def slide(opened: Opened, key: str, value: float) -> None:
    """Move a slider to a value in the units shown."""
    opened.page.locator(f"#{key}-slider").fill(str(value))


def shown(opened: Opened, row: str, mast: int = 0) -> float:
    """The live value of a row of the table of results."""
    opened.settled()
    cell = opened.page.locator("#results tbody tr").filter(has=opened.page.locator("th", has_text=row))
    text = cell.locator("td").nth(mast).locator(".value").inner_text()
    return float(text.replace("−", "-").replace(" ", ""))


def checked(*files: Path) -> Comparison:
    """Mast files, checked side by side."""
    return compare([check(load(file)) for file in files])


def written(comparison: Comparison, out: Path) -> Path:
    """The page of a comparison, as the command makes it."""
    out.write_bytes(whole_page(comparison, told(comparison)))
    return out


@pytest.fixture(scope="session")
def two() -> Comparison:
    """Two hollow aluminium masts with limits; the second fails in some cases."""
    return checked(PROFILES / "aluminium-75-wide.toml", PROFILES / "aluminium-75-tapered.toml")


@pytest.fixture(scope="session")
def two_page(two: Comparison, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Their page."""
    return written(two, tmp_path_factory.mktemp("page") / "two.html")


@pytest.fixture(scope="session")
def carbon() -> Comparison:
    """A mast of a laminate on a core, without limits of its own on movement."""
    return checked(PROFILES / "carbon-75-layup.toml")


@pytest.fixture(scope="session")
def carbon_page(carbon: Comparison, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its page."""
    return written(carbon, tmp_path_factory.mktemp("page") / "carbon.html")
