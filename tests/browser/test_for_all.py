"""The page for everyone: by keyboard, by screen reader, on paper, in other units, without script."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from mastcheck.checks.result import Comparison
from tests.browser.conftest import DESK, PHONE, Open, shown, slide


def test_by_keyboard_alone(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    opened.settled()
    press, seen = opened.page.keyboard.press, []
    press("Tab")
    assert opened.page.evaluate("document.activeElement.className") == "skip"
    press("Enter")
    for _ in range(40):
        press("Tab")
        name = opened.page.evaluate("document.activeElement.id")
        seen.append(name)
        focus = opened.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert focus != "none", f"no focus to be seen on {name}"
        if name == "riderMass-slider":
            press("ArrowRight")
        if name == "mast-1":
            press("Space")
        if name == "units-metric":
            press("ArrowDown")
    state = opened.page.evaluate("window.mastcheck.state()")
    assert state["riderMass"] == pytest.approx(85.5)
    assert state["masts"] == [True, False]
    assert state["units"] == "imperial"
    for needed in (
        "case",
        "length-box",
        "length-slider",
        "loadFactor-own",
        "speed-slider",
        "picture-mast",
        "link",
        "copy",
    ):
        assert needed in seen


def test_focus_stays_while_results_are_drawn_anew(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page, PHONE)
    opened.settled()
    for box in ("#results .scroll", "#cases .scroll", "#findings .scroll"):
        opened.page.locator(box).focus()
        opened.page.evaluate("window.mastcheck.set({ riderMass: 60 + 40 * Math.random() })")
        opened.settled()
        assert opened.page.evaluate(
            "(box) => document.activeElement === document.querySelector(box)", box
        )


def test_the_last_mast_cannot_be_left_out(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    opened.page.locator("#mast-0").uncheck()
    opened.page.locator("#mast-1").click()
    assert opened.page.evaluate("window.mastcheck.state().masts") == [False, True]


def test_results_are_told_to_a_screen_reader_once_at_rest(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    said = opened.page.locator("#announce")
    assert said.get_attribute("aria-live") == "polite"
    slide(opened, "riderMass", 100)
    opened.until("document.getElementById('announce').textContent.includes('Mast B')")
    assert re.search(r"Mast A: pass; sideways [\d.]+ mm, twist [\d.]+°", said.inner_text())


AXE_RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_no_violation_of_accessibility(
    open_page: Open, two_page: Path, size: tuple[int, int], scheme: str
) -> None:
    """By the axe-core engine, WCAG 2.2 A and AA and its best practices, with everything unfolded."""
    axe_module: Any = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="axe is not installed"
    )
    opened = open_page(two_page, size, color_scheme=scheme)
    opened.settled()
    opened.page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    opened.page.locator("#riderMass-box").fill("nonsense")
    opened.page.locator("#riderMass-box").press("Enter")
    found = axe_module.Axe().run(opened.page, options=AXE_RULES)
    assert found.violations_count == 0, found.generate_report()


def test_imperial_everywhere_and_back(open_page: Open, two_page: Path, two: Comparison) -> None:
    opened = open_page(two_page)
    opened.page.locator("#units-imperial").check()
    opened.settled()
    side = two.masts[0].cases[1].tip
    assert side is not None
    assert shown(opened, "Tip, sideways") == pytest.approx(side.side / 0.0254, abs=6e-3)
    assert opened.page.locator("#length-box").input_value() == "29.528"
    text = opened.page.locator("body").inner_text()
    assert "lb" in opened.page.locator("#checked").inner_text()
    assert not re.search(r"\d mm\b", opened.page.locator("#checked table").first.inner_text())
    assert "kn" in text
    opened.page.locator("#units-metric").check()
    opened.settled()
    assert opened.page.locator("#length-box").input_value() == "750"


def test_print_shows_results_cautions_and_state_without_controls(
    open_page: Open, two_page: Path
) -> None:
    opened = open_page(two_page)
    slide(opened, "riderMass", 100)
    opened.settled()
    opened.page.emulate_media(media="print")
    opened.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert not opened.page.locator("#controls").is_visible()
    assert not opened.page.locator("#share").is_visible()
    assert opened.page.locator("#results").is_visible()
    assert "rider 100 kg" in opened.page.locator("#state-words").inner_text()
    assert opened.page.locator("#all-cautions li").first.is_visible()
    assert opened.page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    opened.page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    pdf = opened.page.pdf(format="A4")
    assert pdf.startswith(b"%PDF-")


def test_reduced_motion_moves_nothing(open_page: Open, two_page: Path) -> None:
    calm = open_page(two_page, reduced_motion="reduce")
    assert calm.page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "auto"
    moving = """[...document.querySelectorAll("*")].filter((node) => {
      const style = getComputedStyle(node);
      return style.transitionDuration !== "0s" || style.animationName !== "none";
    }).length"""
    assert calm.page.evaluate(moving) == 0


def test_without_script_the_results_stand_in_tables(
    open_page: Open, two_page: Path, two: Comparison
) -> None:
    opened = open_page(two_page, java_script_enabled=False)
    assert opened.page.locator("noscript").is_visible()
    assert not opened.page.locator("#play").is_visible()
    table = opened.page.locator("#checked table").first.inner_text()
    for case in two.masts[0].cases:
        assert case.case.name in table
    assert "30.9 mm" in table
