"""Tolerances in words: a chance is never "0", samples that fell out are counted, bands have two ends."""

from __future__ import annotations

import dataclasses
import io
import math

import pytest
from rich.console import Console

from mastcheck.checks.tolerance_result import Band, Chance, Importance, Spread, TolerancesResult
from mastcheck.cli.tolerance_tables import print_tolerances
from mastcheck.report.importance_figure import drawn_bands, importance, importance_words
from mastcheck.report.tolerances import (
    band_rows,
    chance_rows,
    ends,
    headline_words,
    limit_words,
    matters,
    probability,
    remarks,
    value_words,
)
from mastcheck.scatter import Quantity, Tolerance
from mastcheck.source import PRACTICE
from tests.reports import make_mast

WALL = Tolerance(quantity=Quantity.WALL, limit=2e-4, relative=False, source=PRACTICE)
LOAD = Tolerance(quantity=Quantity.LOAD, limit=0.1, relative=True, source=PRACTICE)
FITS = Importance(first=(0.7, 0.2), total=(0.75, 0.25), error=0.004)
NO_FIT = Importance(first=None, total=None, error=0.2)


def band(name: str, case: str = "", *, spread: Spread | None = None, value: float = 10.0) -> Band:
    return Band(
        name=name, case=case, unit="mm" if name == "side" else "", value=value, changes=(3.0, 1.0),
        half_width=2.0, worst=3.0, spread=spread,
    )  # fmt: skip


def spread(count: int = 1000, high: float = 13.0, importance: Importance = FITS) -> Spread:
    return Spread(
        low=8.5, median=10.0, high=high, mean=10.0, deviation=1.0, count=count,
        low_between=(7.9, 8.2), high_between=(11.9, 12.2), importance=importance,
    )  # fmt: skip


def chance(name: str, exceeded: int, used: float = 0.95) -> Chance:
    return Chance(
        name=name, case="carve", used=used, exceeded=exceeded, count=1000, low=0.0037, high=0.0116
    )


HEAD = tuple(band(n) for n in ("mass", "side per load", "fore-aft per load", "twist per torque"))


def found(*bands: Band, **changes: object) -> TolerancesResult:
    whole = TolerancesResult(tolerances=(WALL, LOAD), bands=(*HEAD, *bands))
    return dataclasses.replace(whole, **changes)


def sampled(*bands: Band, **changes: object) -> TolerancesResult:
    return found(*bands, **({"samples": 1000, "seed": 7, "any_limit": chance("", 5)} | changes))


def test_samples_that_fell_out_are_counted_and_count_against_the_mast() -> None:
    carve = band("side", "carve", spread=spread(985))
    said = list(remarks(sampled(carve, refused=4)))
    assert said[0] == "1000 samples, seed 7: the same seed gives the same samples."
    assert said[1] == "4 of them cannot be built, and count as exceeding every limit."
    assert said[2] == "carve: unstable in 15 samples, which count as moving without end."
    # Those that cannot be built alone make no case unstable.
    whole = list(remarks(sampled(band("side", "carve", spread=spread(996)), refused=4)))
    assert not any("unstable" in words for words in whole)
    assert not any("cannot be built" in words for words in remarks(sampled(carve)))
    assert list(remarks(found())) == ["No samples were drawn: there are bands, and no probabilities."]


def test_what_matters_is_given_only_where_a_fit_holds() -> None:
    fits = band("side", "carve", spread=spread())
    assert any("misses 0.4 % of a number's variance at most" in w for w in remarks(sampled(fits)))
    assert matters(sampled(fits), fits) == "wall 75 %, load 25 %"
    lost = band("side", "carve", spread=spread(importance=NO_FIT))
    assert any("What matters most is not given" in w for w in remarks(sampled(lost)))
    assert matters(sampled(lost), lost) == "no fit"
    # By the rates: uniform wall 3²/3, normal load (1/1.96)² of one half width.
    linear = band("side", "carve")
    assert matters(found(linear), linear) == "wall 92 %, load 8 %"
    nil = dataclasses.replace(linear, changes=(0.0, 0.0))
    assert matters(found(nil), nil) == "–"


def test_a_band_is_the_wider_of_what_rates_and_samples_say() -> None:
    assert ends(band("side")) == (8.0, 12.0)
    assert ends(band("side", spread=spread())) == (8.0, 13.0)
    assert (
        value_words(band("side", spread=spread(high=math.inf)), "metric") == "10.0 mm (8.00 to no end)"
    )
    far = dataclasses.replace(spread(high=math.inf), high_between=(12.5, math.inf))
    row = band_rows(sampled(band("side", "carve", spread=far)), "metric")[-1]
    assert band_rows(sampled(band("side", "carve", spread=spread())), "metric")[-1][0] == "side"
    assert row[:3] == ["side *", "carve", "mm"]
    assert row[-2] == "no end"


def test_a_number_that_has_no_samples_leaves_its_columns_empty() -> None:
    row = band_rows(sampled(), "metric")[0]
    assert row[0] == "mass"
    assert row[7:10] == ["–"] * 3


def test_a_headline_takes_the_worst_case_of_each_and_leaves_out_what_there_is_not() -> None:
    mast = make_mast()
    assert headline_words(mast, "metric") == []
    bands = (band("side", "carve"), band("side", "pump", value=20.0), band("stability factor", "carve"))
    low = band("stability factor", "pump", value=4.0)
    said = headline_words(dataclasses.replace(mast, tolerances=found(*bands, low)), "metric")
    assert said[4:] == [
        "side 20.0 mm (18.0 to 22.0) in pump",
        "stability factor 4.00 (2.00 to 6.00) in pump",
    ]
    over = headline_words(dataclasses.replace(mast, tolerances=sampled(*bands)), "metric")
    assert over[-1].startswith("over any limit: 5 of 1000 samples, probability 0.5 % (")


def test_a_chance_has_an_interval_and_is_never_nil_or_certain() -> None:
    assert probability(chance("side", 0)) == "less than 1.2 %"  # rounded up
    assert probability(chance("side", 1000)) == "more than 0.3 %"  # rounded down
    assert probability(chance("side", 7)) == "0.7 % (0.3 % to 1.2 %)"


def test_limits_far_from_being_exceeded_are_told_together() -> None:
    chances = (chance("side", 5), chance("twist", 0, used=0.2), chance("roll", 0, used=0.3))
    rows, words = chance_rows(sampled(chances=chances))
    assert [row[0] for row in rows] == ["side", "any limit"]
    assert words == "2 other limits, each: none of 1000 samples, probability less than 1.2 %."
    rows, words = chance_rows(sampled(chances=chances[:1], any_limit=None))
    assert ([row[0] for row in rows], words) == (["side"], "")


def printed(result: TolerancesResult | None) -> str:
    out = io.StringIO()
    console = Console(file=out, width=200)
    print_tolerances(console, dataclasses.replace(make_mast(), tolerances=result), "metric")
    return out.getvalue()


def test_the_terminal_tells_chances_only_where_samples_were_drawn() -> None:
    assert printed(None) == ""
    assert "Limits exceeded among the samples" not in printed(found())
    one = (chance("side", 5),)
    assert "other limit" not in printed(sampled(chances=one))
    assert "1 other limit: none of 1000 samples" in printed(
        sampled(chances=(*one, chance("twist", 0, used=0.2)))
    )


def test_limits_are_told_as_they_were_stated() -> None:
    assert limit_words(WALL, "metric") == "± 0.2 mm"
    assert limit_words(LOAD, "metric") == "± 10 %"


def test_shares_are_drawn_of_the_worst_case_and_of_what_has_a_fit() -> None:
    mast = make_mast()
    assert importance(mast) is None
    assert importance_words(mast, "A") == ("", "")
    bands = (band("side", "carve"), band("side", "pump", value=20.0))
    linear = found(*bands)
    assert [b.name for b in drawn_bands(linear)] == ["mass", "side per load", "twist per torque", "side"]
    assert drawn_bands(linear)[-1].case == "pump"
    said, caption = importance_words(dataclasses.replace(mast, tolerances=linear), "B")
    assert "side, pump: wall 92 %, load 8 %" in said
    assert caption.endswith("By the rates, each tolerance alone.")
    # Of samples that no quadratic fits there is nothing to draw.
    lost = sampled(band("side", "carve", spread=spread(importance=NO_FIT)))
    assert drawn_bands(lost) == []
    assert importance(dataclasses.replace(mast, tolerances=lost)) is None


@pytest.mark.parametrize("count", [1, 2])
def test_one_other_limit_is_counted_as_it_is(count: int) -> None:
    chances = tuple(chance(name, 0, used=0.2) for name in ("side", "twist")[:count])
    _, words = chance_rows(sampled(chances=chances))
    assert words.startswith(("1 other limit: ", "2 other limits, each: ")[count - 1])
