"""The page opened from disk: no network, an answer to every control, for everyone."""

from __future__ import annotations

from pathlib import Path

import pytest

from mastcheck.checks.result import Comparison
from mastcheck.page.build import SIZE_LIMIT
from tests.browser.conftest import DESK, PHONE, PROFILES, Open, checked, shown, slide, written


@pytest.mark.parametrize("size", [(320, 568), PHONE, DESK], ids=["small phone", "phone", "desk"])
def test_opens_from_disk_without_faults_or_network(
    open_page: Open, two_page: Path, size: tuple[int, int]
) -> None:
    opened = open_page(two_page, size)
    opened.settled()
    assert opened.faults == []
    assert opened.requests == []
    assert two_page.stat().st_size < SIZE_LIMIT
    width = opened.page.evaluate("document.documentElement.scrollWidth")
    assert width <= size[0]
    assert opened.page.locator("#results tbody tr").count() == 10
    assert opened.page.locator("#shape-pictures svg").count() == 3
    assert opened.page.locator(".always").is_visible()


def test_policy_forbids_all_but_the_one_script_and_style(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    policy = opened.page.locator("meta[http-equiv=Content-Security-Policy]").get_attribute("content")
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe" not in policy
    assert "http" not in policy
    # It holds: a script, a style and a picture put in afterwards do nothing.
    opened.page.evaluate(
        """() => {
          const script = document.createElement("script");
          script.textContent = "window.intruded = true";
          const picture = document.createElement("img");
          picture.src = "https://example.invalid/x.png";
          const style = document.createElement("div");
          style.setAttribute("style", "position: fixed");
          style.id = "intruder";
          document.body.append(script, picture, style);
        }"""
    )
    assert opened.page.evaluate("window.intruded") is None
    assert (
        opened.page.evaluate("getComputedStyle(document.getElementById('intruder')).position")
        == "static"
    )
    assert opened.requests == []
    assert sum("Content Security Policy" in fault for fault in opened.faults) == 3


def test_what_python_found_stands_beside_what_is_live(
    open_page: Open, two_page: Path, two: Comparison
) -> None:
    """At the file's own values both are the same number to the last figure shown."""
    opened = open_page(two_page)
    opened.settled()
    rows = opened.page.locator("#results tbody tr")
    for name in (
        "Tip, sideways",
        "Tip, fore-aft",
        "Twist",
        "Strength used",
        "Buckling factor",
        "Mass of the mast",
    ):
        row = rows.filter(has=opened.page.locator("th", has_text=name))
        for i in range(len(two.masts)):
            cell = row.locator("td").nth(i)
            live = cell.locator(".value").inner_text()
            before = cell.locator("small", has_text="as checked").inner_text()
            assert before == f"as checked {live}"


def test_each_slider_moves_what_it_should(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    before = {
        name: shown(opened, name)
        for name in ("Tip, sideways", "Strength used", "Buckling factor", "Mass", "Drag")
    }
    slide(opened, "length", 900)
    assert shown(opened, "Tip, sideways") > 1.3 * before["Tip, sideways"]
    assert shown(opened, "Mass") == pytest.approx(before["Mass"] * 900 / 750, rel=5e-3)
    opened.page.locator("#length-own").check()
    slide(opened, "riderMass", 120)
    assert shown(opened, "Strength used") > 1.2 * before["Strength used"]
    opened.page.locator("#riderMass-own").check()
    slide(opened, "loadFactor", 3)
    assert shown(opened, "Buckling factor") == pytest.approx(before["Buckling factor"] / 2, rel=0.1)
    opened.page.locator("#loadFactor-own").check()
    slide(opened, "speed", 12)
    assert shown(opened, "Drag") > 3 * before["Drag"]
    slide(opened, "rideHeight", 700)
    assert shown(opened, "Drag") < 0.6 * 3.9 * before["Drag"]
    opened.page.locator("#reset").click()
    assert {name: shown(opened, name) for name in before} == before


def test_axes_stay_while_a_slider_moves(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    grid = "[...document.querySelectorAll('#shape-pictures .grid')].map(l => l.getAttribute('y1'))"
    blade = "document.querySelector('#shape-pictures .blade').getAttribute('d')"
    before, shape = opened.page.evaluate(grid), opened.page.evaluate(blade)
    slide(opened, "riderMass", 140)
    opened.settled()
    assert opened.page.evaluate(grid) == before
    assert opened.page.evaluate(blade) != shape
    assert "2 times as large" in opened.page.locator("#shape-words").inner_text()


@pytest.mark.parametrize("entry", ["abc", "", "99999", "-5", "1e999", "NaN"])
def test_a_bad_entry_is_refused_beside_its_box(open_page: Open, two_page: Path, entry: str) -> None:
    opened = open_page(two_page)
    before = shown(opened, "Tip, sideways")
    box = opened.page.locator("#riderMass-box")
    box.fill(entry)
    box.press("Enter")
    assert box.get_attribute("aria-invalid") == "true"
    assert "Not used" in opened.page.locator("#riderMass-fault").inner_text()
    assert shown(opened, "Tip, sideways") == before
    box.fill("92,5")  # a comma is how many phones write decimals
    box.press("Enter")
    assert box.get_attribute("aria-invalid") is None
    assert opened.page.evaluate("window.mastcheck.state().riderMass") == 92.5


def test_unstable_says_so_and_draws_nothing_bent(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    slide(opened, "loadFactor", 5)
    slide(opened, "riderMass", 150)
    slide(opened, "length", 975)
    opened.settled()
    row = opened.page.locator("#results tbody tr").first.locator("td").nth(1)
    assert "unstable" in row.inner_text()
    assert "no balance found" in row.inner_text()
    assert opened.page.locator("#shape-pictures .blade.m1").count() == 0
    assert "no balance found" in opened.page.locator("#shape-key").inner_text()
    assert "all: fail" in opened.page.locator("#strip").text_content()


def test_a_mast_that_fails_in_another_case_does_not_pass(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    opened.settled()
    one = opened.page.locator("#results tbody tr").nth(0).locator("td").nth(1).inner_text()
    every = opened.page.locator("#results tbody tr").nth(1).locator("td").nth(1).inner_text()
    assert "pass" in one
    assert "fail" in every
    assert "touchdown" in every
    # The verdict of the full check stands beside both, and no slider moves it.
    whole = opened.page.locator("#results tbody tr").nth(2)
    assert "fails" in whole.inner_text()
    assert "every limit held" in whole.inner_text()
    for words in ("bolts", "free play", "fatigue", "vibration", "flutter", "tolerances"):
        assert words in opened.page.locator("#unjudged").inner_text()


def test_a_mast_whose_bolts_fail_is_no_live_pass(open_page: Open, tmp_path: Path) -> None:
    """Joints are not judged live: what the full check found of them stands beside, on a phone too."""
    comparison = checked(PROFILES / "aluminium-75-three-joints.toml")
    assert comparison.masts[0].failed
    opened = open_page(written(comparison, tmp_path / "page.html"), PHONE)
    opened.settled()
    rows = opened.page.locator("#results tbody tr")
    assert "pass" in rows.nth(1).inner_text()
    assert "fails" in rows.nth(2).inner_text()
    assert "all: part" in opened.page.locator("#strip").text_content()


def test_a_mast_without_limits_or_strength_is_not_passed(open_page: Open, tmp_path: Path) -> None:
    """Material without a strength: what is not judged is never a pass, and a face that buckles fails."""
    file = tmp_path / "mast.toml"
    file.write_text(UNJUDGED, encoding="utf-8")
    comparison = checked(file)
    opened = open_page(written(comparison, tmp_path / "page.html"), PHONE)
    opened.page.locator("#case").select_option("cruise")
    opened.settled()
    first = opened.page.locator("#results tbody tr").first.inner_text()
    assert "not judged" in first
    assert "pass" not in opened.page.locator("#results").inner_text()
    opened.page.locator("#case").select_option("thin")
    opened.settled()
    used = opened.page.locator("#results tbody tr").filter(
        has=opened.page.locator("th", has_text="Strength")
    )
    assert "not judged" in used.inner_text()
    assert opened.faults == []


UNJUDGED = """
[mast]
name = "no strength stated"
length = "750 mm"
[[mast.station]]
at = 0.0
chord = "140 mm"
thickness = "19 mm"
[[mast.station]]
at = 1.0
chord = "120 mm"
thickness = "17 mm"
[section]
outline = "naca-4-digit"
construction = "solid"
material = "shop-laminate"
[material.shop-laminate]
E = "48 GPa"
G = "17 GPa"
density = "1550 kg/m3"
source = "invented for a test"
[[load_case]]
name = "thin"
force = ["0 N", "200 N", "0 N"]
moment = ["0 N m", "0 N m", "0 N m"]
strength_factor = 1.5
"""


def test_the_link_brings_the_state_back(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    slide(opened, "length", 812)
    slide(opened, "riderMass", 71.5)
    slide(opened, "loadFactor", 1.25)
    slide(opened, "rideHeight", 250)
    slide(opened, "speed", 8.3)
    opened.page.locator("#case").select_option("pump")
    opened.page.locator("#mast-0").uncheck()
    opened.page.locator("#units-imperial").check()
    opened.page.locator("#x-10").check()
    opened.settled()
    state = opened.page.evaluate("window.mastcheck.state()")
    opened.until("document.getElementById('link').value.includes('x=10')")
    link = opened.page.locator("#link").input_value()
    opened.page.locator("#copy").click()
    opened.until("document.getElementById('copied').textContent !== ''")
    again = open_page(two_page, DESK, "#" + link.split("#")[1])
    again.settled()
    assert again.page.evaluate("window.mastcheck.state()") == state
    assert again.faults == []
    assert again.page.locator("#results").inner_text() == opened.page.locator("#results").inner_text()


def test_a_link_followed_in_the_open_page(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    opened.settled()
    opened.page.evaluate("location.hash = '#m=70&c=pump'")
    opened.until("window.mastcheck.state().riderMass === 70")
    opened.settled()
    assert opened.page.locator("#case").input_value() == "pump"
    # A place in the page is no state.
    opened.page.locator(".jump a[href='#checked']").click()
    opened.page.wait_for_timeout(100)
    assert opened.page.evaluate("window.mastcheck.state().riderMass") == 70


@pytest.mark.parametrize(
    "bad",
    [
        "#l=99&m=abc&n=1e400&c=nothing&k=7.8&x=3&p=9&t=99999",
        "#%E0%A4%A&&==",
        "#c=<img src=x onerror=alert(1)>",
    ],
)
def test_a_link_that_lies_is_refused_in_words(open_page: Open, two_page: Path, bad: str) -> None:
    opened = open_page(two_page, DESK, bad)
    opened.settled()
    assert opened.faults == []
    state = opened.page.evaluate("window.mastcheck.state()")
    assert state["length"] is None
    assert state["caseName"] == "carve"
    assert state["masts"] == [True, True]
    if "l=99" in bad:
        assert "Not used from the link" in opened.page.locator("#copied").inner_text()


def test_picture_of_a_station(open_page: Open, two_page: Path) -> None:
    opened = open_page(two_page)
    opened.settled()
    picture = opened.page.locator("#picture-drawing svg")
    assert picture.get_attribute("role") == "img"
    assert picture.locator("circle.mark").count() == 2
    assert "MPa" in opened.page.locator("#picture-words").inner_text()
    opened.page.locator("#picture-station").fill("4")
    opened.settled()
    assert "station 5 of" in opened.page.locator("#picture-words").inner_text()
    assert picture.locator("circle.mark").count() == 0
    opened.page.locator("#picture-follow").check()
    opened.settled()
    assert picture.locator("circle.mark").count() == 2
