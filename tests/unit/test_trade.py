"""The trade: rows against numbers computed here, what sentences say and refuse to say, the picture.

Verdicts are set by hand on masts that were really checked, so that each state can be asked for; all
stiffness, mass and water numbers are as computed.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from rich.console import Console

from mastcheck.checks.compare import compare
from mastcheck.checks.result import Check, MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.checks.trade import failing, trade, trade_rows
from mastcheck.checks.trade_measures import Stand, measures, stand, used
from mastcheck.cli.tables import print_comparison
from mastcheck.conditions import Conditions
from mastcheck.disciplines import USUAL
from mastcheck.job import Job
from mastcheck.report.trade import trade_section
from mastcheck.report.trade_figure import MOST, change_words, shown, trade_picture, trade_words
from tests.masts import mast

LONG = "a name that goes on and on, Grey Heron Boat Works prototype of the second summer, "
SIZES = {
    "wide": ((0.150, 0.020), (0.130, 0.018), 0.75),
    "narrow": ((0.120, 0.018), (0.095, 0.015), 0.75),
    "long": ((0.150, 0.020), (0.130, 0.018), 0.95),
    "slim": ((0.110, 0.017), (0.110, 0.017), 0.75),
    "stout": ((0.160, 0.022), (0.120, 0.018), 0.70),
}


@cache
def real(name: str) -> MastResult:
    """A solid mast as checked."""
    base, tip, length = SIZES[name]
    job = Job(
        mast=replace(mast(base, tip, length=length), name=name),
        speeds=(5.0, 12.0),
        conditions=Conditions(ride_height=0.30),
        wet_fraction=1 - 0.30 / length,
    )
    return check(job)


def strength(share: float | None, verdict: Verdict) -> Check:
    """One check of strength in the carve."""
    return Check(
        name="von Mises, test", case="carve", value=1.0, limit=1.0, unit="MPa",
        utilisation=share, verdict=verdict,
    )  # fmt: skip


def judged(result: MastResult, share: float | None = 0.7) -> MastResult:
    """The mast with one verdict in place of its own; None: the strength is not stated."""
    verdict = Verdict.REPORT if share is None else Verdict.PASS if share <= 1 else Verdict.FAIL
    cases = tuple(replace(c, stable=True) for c in result.cases)
    return replace(result, cases=cases, checks=(strength(share, verdict),))


def named(result: MastResult, name: str) -> MastResult:
    return replace(result, job=replace(result.job, mast=replace(result.job.mast, name=name)))


def priced(result: MastResult, price: tuple[float, str] | None) -> MastResult:
    return replace(result, job=replace(result.job, price=price))


def said(*results: MastResult) -> tuple[tuple[str, ...], str, str]:
    found = trade(results)
    assert found is not None
    return found.suits, found.next, found.unlike


# ---- rows ----


def test_rows_are_the_water_side_and_nothing_else() -> None:
    """Trapezium in closed form; power = force times speed; the rest straight from the water side."""
    a, b = real("wide"), real("narrow")
    rows = {name: (unit, values) for name, unit, values in trade_rows([a, b])}
    (_, drag), (unit, power) = rows["drag at 12 m/s"], rows["power at 12 m/s"]
    assert unit == "W"
    assert power == pytest.approx([12 * d for d in drag])
    for i, key in enumerate(("wide", "narrow")):
        (c0, _), (c1, _), length = SIZES[key]
        at_water = c0 + (c1 - c0) * 0.30 / length
        wet = length - 0.30
        area = (at_water + c1) / 2 * wet
        centre = 0.30 + wet * (at_water + 2 * c1) / (3 * (at_water + c1))
        assert rows["wet side area"][1][i] == pytest.approx(area, rel=1e-6)
        assert rows["centre of wet side area below the board"][1][i] == pytest.approx(centre, rel=1e-6)
    track = a.water.side.tracking
    i = int(np.flatnonzero(np.isclose(track.speeds, 6.0))[0])
    assert rows["side force per degree of leeway at 6 m/s"][1][0] == pytest.approx(
        track.side_per_rad[i] / 57.29578
    )
    assert rows["moment against turning at 6 m/s and 90 deg/s"][1][0] == pytest.approx(
        track.yaw_damping[i] * 1.5707963
    )


def test_rows_without_any_value_are_left_out() -> None:
    """No foil: no wing follows, and no row of dashes is shown."""
    names = [name for name, *_ in trade_rows([real("wide"), real("narrow")])]
    assert not any("wing follows" in n or "lag of the wing" in n or n == "price" for n in names)
    assert trade_rows([real("wide"), replace(real("narrow"), water=None)]) == []


def test_prices_of_two_currencies_are_not_mixed() -> None:
    a = priced(real("wide"), (320.0, "EUR"))
    b = priced(real("narrow"), (300.0, "USD"))
    rows = [row for row in trade_rows([a, b]) if row[0] == "price"]
    assert rows == [("price", "EUR", [320.0, None]), ("price", "USD", [None, 300.0])]
    assert not any("cost" in text for text in said(judged(a), judged(b))[0])
    same = said(judged(a), judged(priced(b, (240.0, "EUR"))))[0]
    assert "costs 25 % less" in same[1]
    assert "costs 33 % more" in same[0]


# ---- sentences ----


def test_both_hold_and_both_columns_are_said() -> None:
    """Each sentence has gain and price, with percentages that follow from the two masts."""
    a, b = judged(real("wide"), 0.7), judged(real("narrow"), 0.9)
    suits, following, unlike = said(a, b)
    less = 100 * (1 - a.stiffness.twist_deg_per_10Nm / b.stiffness.twist_deg_per_10Nm)
    more = 100 * (a.mass / b.mass - 1)
    assert suits[0].startswith("wide holds for the rider checked, and suits one who loads the mast hard")
    assert f"twists {less:.0f} % less" in suits[0].split("; it also ")[0]
    assert f"weighs {more:.0f} % more" in suits[0].split("; it also ")[1]
    assert "loads the mast hard" not in suits[1]
    assert "twists" in suits[1].split("; it also ")[1]
    assert "--sensitivity" in following
    assert unlike == ""


def test_a_mast_close_to_its_limit_is_not_for_hard_loads() -> None:
    suits, *_ = said(judged(real("wide"), 0.95), judged(real("narrow"), 0.99))
    assert "holds" in suits[0]
    assert "loads the mast hard" not in suits[0]


@pytest.mark.parametrize("share", [1.01, 2.45])
def test_a_mast_that_fails_is_for_nobody(share: float) -> None:
    suits, following, _ = said(judged(real("wide")), judged(real("narrow"), share))
    assert suits[1].startswith("narrow is for nobody as it stands: it fails carve")
    assert f"{100 * share:.0f} % of its limit" in suits[1]
    assert "suits" not in suits[1]
    assert "counts only once it holds" in suits[1]
    assert "narrow must hold first" in following
    assert "spare" not in following


def test_both_fail() -> None:
    suits, following, _ = said(judged(real("wide"), 1.2), judged(real("narrow"), 1.5))
    assert all("for nobody as it stands" in text for text in suits)
    assert "none of these holds" in following
    assert "wall" not in following  # both are solid


def test_unstable_fails_even_where_no_check_says_so() -> None:
    a = judged(real("wide"))
    b = judged(real("narrow"))
    b = replace(b, cases=(replace(b.cases[0], stable=False), *b.cases[1:]))
    assert stand(b) is Stand.FAILS
    assert b.cases[0].case.name in failing(b)
    assert "for nobody" in said(a, b)[0][1]


def test_what_is_not_judged_is_recommended_to_nobody() -> None:
    a, b = judged(real("wide"), None), judged(real("narrow"), 0.5)
    assert stand(a) is Stand.UNJUDGED
    assert used(a) is None
    suits, following, _ = said(a, b)
    assert "not judged in full" in suits[0]
    assert "suits" not in suits[0]
    assert "wide" in following
    assert "thinner" not in following


def test_strength_to_spare_is_said_with_its_price() -> None:
    _, following, _ = said(judged(real("wide"), 0.4), judged(real("narrow"), 0.7))
    assert "wide uses 40 % of its strength" in following
    assert "at the price of stiffness" in following


def test_equal_masts() -> None:
    suits, *_ = said(judged(real("wide")), named(judged(real("wide")), "twin"))
    assert all("in nothing that was looked at." in text for text in suits)


def test_a_base_that_flies_clear_is_said_and_a_wet_one_is_not() -> None:
    dry = [judged(real("wide")), judged(real("narrow"))]
    assert "The first 40 % of the length flies clear" in said(*dry)[1]
    low = Conditions(ride_height=0.05)
    wet = [replace(r, job=replace(r.job, conditions=low)) for r in dry]
    assert "flies clear" not in said(*wet)[1]


def test_three_masts_the_first_against_each_of_the_others() -> None:
    """What is said of the first holds against every other: the nearest of them gives the number."""
    results = [judged(real(k)) for k in ("stout", "wide", "narrow")]
    suits, *_ = said(*results)
    assert len(suits) == 3
    own = results[0].stiffness.twist_deg_per_10Nm
    nearest = min(r.stiffness.twist_deg_per_10Nm for r in results[1:])
    assert own < nearest
    assert f"twists at least {100 * (1 - own / nearest):.0f} % less" in suits[0]


def test_different_questions_are_named() -> None:
    a, b = judged(real("wide")), judged(real("narrow"))
    heavy = replace(b.job, rider=replace(b.job.rider, mass=60.0))
    assert "rider" in said(a, replace(b, job=heavy))[2]
    assert said(a, judged(real("long")))[2] == ""  # the same ride height, only longer


def test_a_longer_mast_leans_further_and_drags_more() -> None:
    """Common practice, no source: at one ride height length costs drag and stiffness; it buys room
    to ride higher and lean further. At the same ride height it leans less: the board comes down by
    the length times (1 - cos) of the bank."""
    found = {m.key: m for m in measures([real("wide"), real("long")])}
    assert found["drag 12"].values[1] > found["drag 12"].values[0]
    assert found["lean"].merit(1, 0) > 1.1
    assert found["side"].merit(1, 0) < 1
    for name in ("wide", "long"):
        (bank,) = next(v for n, _, v in trade_rows([real(name)]) if n.startswith("bank"))
        length, b = SIZES[name][2], math.radians(bank)
        assert length * (1 - math.cos(b)) + 0.25 * math.sin(b) == pytest.approx(0.30, rel=1e-6)


def test_merit_is_above_one_where_better() -> None:
    for m in measures([real("wide"), real("narrow")]):
        a, b = m.values
        merit = m.merit(1, 0)
        if merit is None or a == b:
            continue
        assert (merit > 1) == ((b < a) if m.less else (b > a)), m.key
        assert merit == pytest.approx(1 / m.merit(0, 1))


# ---- picture, page, terminal ----


def several(count: int, *, long: bool = False) -> list[MastResult]:
    shares = (0.7, 1.4, None, 0.9, 0.3)
    found = []
    for i, key in enumerate(list(SIZES)[:count]):
        r = priced(judged(real(key), shares[i]), (300.0 + 20 * i, "USD" if i == 3 else "EUR"))
        found.append(named(r, f"{LONG}{key}") if long else r)
    return found


def boxes(masts: Sequence[MastResult]) -> tuple[list, tuple[float, float]]:
    """Every text drawn with its box in pixels, and the size of the page."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    fig = trade_picture(masts)
    assert fig is not None
    fig.set_dpi(200)
    canvas = FigureCanvasAgg(fig)
    canvas.draw()
    ink = [t for ax in fig.axes for t in ax.texts]
    found = []
    for t in ink:
        t.set_bbox(None)
        found.append((t.get_text(), t.get_window_extent(canvas.get_renderer())))
    return found, (fig.bbox.width, fig.bbox.height)


@pytest.mark.parametrize("count", [2, 3, 4, 5])
@pytest.mark.parametrize("long", [False, True])
def test_picture_has_every_text_inside_and_none_upon_another(count: int, long: bool) -> None:
    found, (wide, high) = boxes(several(count, long=long))
    # Half a page of A4; five masts in words that can still be read take a little more.
    assert high / 200 <= (5.85 if count < 5 else 6.6)
    for text, box in found:
        assert box.x0 >= 0, text
        assert box.x1 <= wide, text
        assert box.y0 >= 0, text
        assert box.y1 <= high, text
    for i, (text, a) in enumerate(found):
        for other, b in found[i + 1 :]:
            across = min(a.x1, b.x1) - max(a.x0, b.x0)
            up = min(a.y1, b.y1) - max(a.y0, b.y0)
            # Boxes hold the font's full height, letters less: a pixel at 200 dpi is 0.13 mm.
            assert across <= 0 or up <= 3, f"{text!r} upon {other!r}"


def test_picture_names_limit_failure_and_numbers() -> None:
    masts = several(3)
    words = " | ".join(text for text, _ in boxes(masts)[0])
    assert "FAILS carve" in words
    assert "not judged in full" in words
    assert "limit: 100 %" in words
    assert f"B {masts[1].mass:.2f} kg" in words
    alt, caption = trade_words(masts, "metric")
    assert "B is wide" not in alt
    assert "B is narrow and fails" in alt
    assert f"{masts[2].mass:.2f} kg" in alt
    assert "Hollow" in caption


def test_picture_in_imperial_has_its_units() -> None:
    alt, _ = trade_words(several(2), "imperial")
    assert "under 10 lbf" in alt
    assert " lb," in alt
    assert "kg" not in alt


def test_marks_differ_without_colour_and_are_hollow_where_a_mast_does_not_hold() -> None:
    fig = trade_picture(several(5))
    marks = {
        (line.get_marker(), line.get_markerfacecolor())
        for line in fig.axes[0].lines
        if line.get_marker() not in ("None", "", None)
    }
    assert len({shape for shape, _ in marks}) == 4
    assert {shape for shape, face in marks if face == "white"} == {"o", "s"}


def test_picture_is_missing_where_there_is_nothing_to_weigh() -> None:
    assert trade_picture([real("wide")]) is None
    assert trade_picture([real("wide"), replace(real("wide"), water=None)]) is None
    seven = [*several(5), *several(2)]
    assert trade_picture(seven) is not None
    assert f"first {MOST} masts" in trade_words(seven, "metric")[1]
    assert len([m for m in shown(seven) if m.key.startswith("drag")]) == 1


def test_change_is_signed_or_a_multiple() -> None:
    m = measures([real("wide"), real("narrow")])[0]
    assert change_words(replace(m, values=(10.0, 8.0)), 1) == "−20 %"
    assert change_words(replace(m, values=(10.0, 10.0)), 1) == "same"
    assert change_words(replace(m, values=(10.0, 31.0)), 1) == "×3.1"
    assert change_words(replace(m, values=(10.0, None)), 1) == "–"


def test_terminal_and_page_say_the_sentences() -> None:
    comparison = compare(several(2))
    console = Console(file=io.StringIO(), width=200)
    print_comparison(console, comparison, "metric")
    shown_there = " ".join(console.file.getvalue().split())
    section = trade_section(comparison)
    assert section is not None
    for text in (*section["suits"], section["next"]):
        assert text in shown_there
    assert "no approval" in shown_there
    assert "None" not in shown_there
    assert trade_section(compare(several(1))) is None


def test_the_sentence_counts_only_wet_side_area() -> None:
    a, b = real("wide"), real("narrow")
    ratio = a.water.side.tracking.area.side / b.water.side.tracking.area.side
    assert f"{100 * (ratio - 1):.0f} % more side area in the water" in compare([a, b]).sentence


def test_usual_conditions_of_every_discipline_make_sense() -> None:
    for usual in USUAL.values():
        slow, fast = usual.speeds
        assert 0 < slow < usual.conditions.turn_speed <= fast
        assert 0.4 <= usual.conditions.wing_span <= 1.4
        assert 0.04 <= usual.conditions.wing_area <= 0.24
