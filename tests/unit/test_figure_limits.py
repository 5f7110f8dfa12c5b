"""Figures at their limits: letters no font has, readings nobody took, bolts too close."""

from __future__ import annotations

import dataclasses
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

from mastcheck.bench.readings import Direction, Gauge, GaugeKind, Load, Part, Reading
from mastcheck.checks.envelope_result import Envelope, EnvelopeRow, Heaviest, Reach
from mastcheck.checks.result import MastResult
from mastcheck.report import bench_figure, bench_plan, station_figures
from mastcheck.report.cells import table
from mastcheck.report.content import _halves
from mastcheck.report.embedded import font_faces
from mastcheck.report.envelope import sentences
from mastcheck.report.joint_figures import bolt_patterns
from mastcheck.report.station_figures import sections
from mastcheck.report.trade_figure import _Scale, _scale, trade_picture, trade_words
from mastcheck.report.water_figures import water_figures
from tests.reports import make_mast
from tests.unit.test_joint_report import three
from tests.unit.test_water_report import bare, ridden


def texts(figure: Any) -> list[str]:
    return [t.get_text() for ax in figure.axes for t in ax.texts] + [t.get_text() for t in figure.texts]


def test_only_letters_that_a_font_has_are_cut_out_of_it() -> None:
    one = font_faces(['<svg><text style="font: 10px x">ab</text></svg>'])
    assert "U+61,U+62" in one
    assert font_faces(['<svg><text style="font: 10px x">ab\U00012000</text></svg>']) == one
    assert font_faces(["<svg></svg>"]) == ""


def readings(part: Part) -> tuple[Reading, ...]:
    load = Load(direction=Direction.SIDE, z=0.75)
    gauge = Gauge(kind=GaugeKind.SIDE, z=0.5, part=part)
    return (Reading(load=load, amount=50.0, gauge=gauge, value=0.002),)


def test_a_movement_read_on_the_foil_alone_has_no_line_along_the_blade() -> None:
    found: Any = SimpleNamespace(readings=readings(Part.FOIL))
    assert bench_figure._shown_load(found, GaugeKind.SIDE) is None
    ax = Figure().add_subplot()
    bench_figure._along(ax, found, GaugeKind.SIDE, "metric")
    assert ax.get_ylabel() == "under one load [mm]"
    assert not ax.lines
    on_blade: Any = SimpleNamespace(readings=readings(Part.BLADE))
    shown = bench_figure._shown_load(on_blade, GaugeKind.SIDE)
    assert shown is not None
    assert shown[1:] == (50.0, [0])


def test_a_test_sheet_stops_at_a_strain_where_no_strength_is_stated() -> None:
    step: Any = SimpleNamespace(masses=(2.0, 5.0, 10.0), stop_mass=12.39, utilisation=None)
    said = bench_plan.stop_words(step, "metric")
    assert said.startswith("stop: never more than 12.3 kg; strain at most ")
    assert said.endswith("since no strength is stated")
    step.utilisation = 0.15
    said = bench_plan.stop_words(step, "metric")
    assert "10 kg use 15 % of the blade's design strength" in said


def test_words_are_halved_by_their_length_and_none_are_no_halves() -> None:
    assert _halves(None) is None
    assert _halves(table(["a", "b"], "ll", [])) == [[], []]
    rows: Any = [["long" * 10, "x"], ["a", "b"], ["c", "d"]]
    assert _halves(table(["a", "b"], "ll", rows)) == [rows[:1], rows[1:]]


def near(result: MastResult, share: float) -> MastResult:
    """The same joints with their bolts drawn together."""
    joints = result.joints
    assert joints is not None
    bolts = tuple(
        (
            case,
            tuple(
                dataclasses.replace(
                    loads,
                    group=dataclasses.replace(
                        loads.group,
                        positions=tuple((share * x, share * y) for x, y in loads.group.positions),
                    ),
                )
                for loads in every
            ),
        )
        for case, every in joints.bolts
    )
    return dataclasses.replace(result, joints=dataclasses.replace(joints, bolts=bolts))


def test_bolts_too_near_for_their_forces_keep_their_numbers() -> None:
    far = [t for t in texts(bolt_patterns(three())) if t[:1].isdigit()]
    assert any(" N" in t for t in far)
    close = [t for t in texts(bolt_patterns(near(three(), 0.05))) if t[:1].isdigit()]
    assert len(close) == len(far)
    assert all(t.isdigit() for t in close)


def test_a_figure_that_a_page_must_shrink_states_no_scale(monkeypatch: pytest.MonkeyPatch) -> None:
    def bar() -> str:
        (said,) = [t for t in texts(sections([make_mast()])) if t.startswith("50 mm")]
        return said

    assert bar().startswith("50 mm; scale 1:")
    monkeypatch.setattr(station_figures, "HIGHEST", 1.0)
    assert bar() == "50 mm"


def test_manoeuvres_that_were_all_refused_leave_no_free_bodies_to_draw() -> None:
    mast = ridden()
    assert mast.water is not None
    assert [key for key, *_ in water_figures([mast], units="metric")] == ["drag", "free bodies A"]
    cases = tuple(dataclasses.replace(c, case=None, body=None) for c in mast.water.cases)
    refused = dataclasses.replace(mast, water=dataclasses.replace(mast.water, cases=cases))
    assert [key for key, *_ in water_figures([refused], units="metric")] == ["drag"]


def test_marks_beyond_the_scale_are_said_to_lie_there() -> None:
    a = bare()
    heavy = dataclasses.replace(a, mass=20 * a.mass)
    _, caption = trade_words([a, heavy], "metric")
    assert caption.endswith("Marks at the end of the scale lie beyond 8 times.")
    _, caption = trade_words([a, dataclasses.replace(a, mass=7 * a.mass)], "metric")
    assert "Marks at the end" not in caption
    # Its mark is drawn at the end: there is no room past it.
    figure = trade_picture([a, heavy])
    assert figure is not None
    assert any("×20" in t for t in texts(figure))


def test_a_scale_is_marked_as_far_as_it_reaches() -> None:
    def ticks(reach: float) -> list[str]:
        ax = Figure().add_subplot()
        _scale(ax, _Scale(reach=float(np.log(reach)), room=1.6), 0.0, 1.0)
        return [t.get_text() for t in ax.texts if t.get_text().endswith(" ×")]

    assert ticks(8.0)[-1] == "5 ×"
    assert ticks(1.3)[-1] == "1.25 ×"


def test_an_envelope_without_a_bound_passed_explains_no_sign() -> None:
    def said(*reach: Reach) -> list[str]:
        found = tuple(Heaviest(reach=r, mass=80.0) for r in reach)
        row = EnvelopeRow(length=0.75, heaviest=found, governing=0)
        fields: dict[str, Any] = {f.name: () for f in dataclasses.fields(Envelope)}
        limits = tuple(SimpleNamespace(judged=True) for _ in reach)
        return sentences(
            Envelope(**(fields | {"riders": (40.0, 130.0), "limits": limits, "rows": (row,)})), "metric"
        )

    assert not any(words.startswith((">", "<")) for words in said(Reach.FOUND))
    assert "> 130: holds at the heaviest rider tried" in said(Reach.ABOVE)
    assert "< 40: fails at the lightest rider tried" in said(Reach.BELOW, Reach.FOUND)
    assert any(words.startswith("not judged: no strength") for words in said(Reach.NOT_JUDGED))
