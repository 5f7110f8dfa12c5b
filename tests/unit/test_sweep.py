"""Plans, journals and tables of a sweep: order, resuming, what is written."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mastcheck.errors import InputError
from mastcheck.files.sweep_journal import Journal
from mastcheck.files.sweep_table import cell, columns, write_csv, write_parquet
from mastcheck.report.front_figure import MOST_LABELS, SUFFIXES, front_figure, picture
from mastcheck.search import rows as rows_module
from mastcheck.search.batches import MOST_DEATHS, Batches, Solved, gaps
from mastcheck.search.executors import Here
from mastcheck.search.outcome import Outcome, outcome
from mastcheck.search.plan import MOST_DESIGNS, plan_of
from mastcheck.search.rows import PLACE, Row, faulty, row_of, solve
from mastcheck.search.sweep import Judged, judge, stream, sweep
from mastcheck.search.variables import Variable
from tests.sweeps import JOB, PLAN, VARIABLES


@pytest.fixture(scope="module")
def solved() -> list[Row]:
    """Rows of the small sweep, in order."""
    return solve(PLAN, 0, PLAN.count)


def test_sections_change_slowest_and_the_rider_quickest() -> None:
    assert PLAN.keys == ("thickness", "length", "rider")
    assert PLAN.count == 12
    assert PLAN.alike == 4
    every = [tuple(PLAN.settings(i).values()) for i in range(PLAN.count)]
    assert every == sorted(every)
    assert len(set(every)) == 12


@pytest.mark.parametrize(
    ("variables", "words"),
    [
        ((), "nothing is varied"),
        ((Variable(key="wall", values=(0.002,)),), "this mast has no"),
        ((Variable(key="chrod", values=(0.1,)),), "did you mean chord"),
        ((Variable(key="chord", values=()),), "has no values"),
        ((Variable(key="chord", values=(0.1,)),) * 2, "twice"),
        (
            tuple(Variable(key=k, values=(0.1,) * 200) for k in ("chord", "base_chord", "tip_chord")),
            f"more than {MOST_DESIGNS:,} designs",
        ),
    ],
)
def test_a_plan_that_cannot_be_is_refused(variables: tuple[Variable, ...], words: str) -> None:
    with pytest.raises(InputError, match=words):
        plan_of(JOB, variables)


def test_identity_changes_with_file_cases_and_values() -> None:
    other = plan_of(replace(JOB, input_sha256="ab"), VARIABLES)
    fewer = plan_of(replace(JOB, cases=()), VARIABLES)
    values = plan_of(JOB, (Variable(key="rider", values=(60.0, 90.5)), *VARIABLES[1:]))
    assert len({p.identity for p in (PLAN, other, fewer, values)}) == 4
    assert plan_of(replace(JOB, file="elsewhere.toml"), VARIABLES).identity == PLAN.identity


def test_a_row_is_a_whole_check_of_its_design(solved: list[Row]) -> None:
    for number in (0, 7, 11):
        assert solved[number] == row_of(outcome(JOB, PLAN.settings(number)))


def test_what_cannot_be_built_is_a_row_with_its_reason(solved: list[Row]) -> None:
    refused = [row for row in solved if row[PLACE["verdict"]] == "refused"]
    assert len(refused) == 4
    assert all("thicker" in str(row[PLACE["reason"]]) for row in refused)
    assert all(row[PLACE["mass_kg"]] is None for row in refused)


def test_a_fault_of_the_program_is_a_row_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: object, settings: dict[str, float]) -> Outcome:
        if settings["rider"] == 90.0:
            raise ZeroDivisionError("by\nnought")
        return outcome(JOB, settings)

    monkeypatch.setattr(rows_module, "outcome", broken)
    found = solve(PLAN, 0, 2)
    assert found[0][PLACE["verdict"]] in ("pass", "fail")
    assert found[1][PLACE["reason"]] == "internal fault: ZeroDivisionError: by nought"
    judged = judge(plan_of(JOB, VARIABLES[:1]), found)
    assert judged.faults == 1


def test_the_front_is_of_designs_that_hold_at_one_length_and_rider(solved: list[Row]) -> None:
    judged = judge(PLAN, solved)
    assert judged.verdicts["refused"] == 4
    assert judged.verdicts["fail"]
    assert judged.holds.any()
    assert not judged.front[~judged.holds].any()
    for group in np.unique(judged.groups[judged.holds]):
        here = np.flatnonzero((judged.groups == group) & judged.holds)
        lightest = here[np.argmin(judged.values[here, 0])]
        stiffest = here[np.argmin(judged.values[here, 1])]
        assert judged.front[[lightest, stiffest]].all()
        same = {(s["length"], s["rider"]) for s in map(PLAN.settings, here.tolist())}
        assert len(same) == 1


def test_where_none_holds_the_best_of_all_are_marked_and_it_is_known(solved: list[Row]) -> None:
    failing = [[("fail" if v == "pass" else v) for v in row] for row in solved]
    judged = judge(PLAN, failing)
    assert judged.none_holds
    assert judged.front.any()


def test_a_design_in_doubt_does_not_hold(solved: list[Row]) -> None:
    doubtful = [[*row[: PLACE["doubtful"]], True, *row[PLACE["doubtful"] + 1 :]] for row in solved]
    judged = judge(PLAN, doubtful)
    assert judged.none_holds
    assert judged.doubtful == len(solved)


def test_without_load_cases_stiffness_takes_the_place_of_movement() -> None:
    plan = plan_of(replace(JOB, cases=(), limits=()), VARIABLES[1:2])
    judged = judge(plan, solve(plan, 0, plan.count))
    assert judged.objectives == ("mass_kg", "twist_deg_per_10Nm", "side_mm_per_100N", "drag_N")
    assert judged.front.sum() == 2


def test_gaps_and_batches_cover_everything_once() -> None:
    todo = gaps(PLAN.count, [(10, 12), (0, 3)])
    assert todo == [(3, 10)]
    batches = Batches(PLAN, todo)
    seen: list[int] = []
    while batch := batches.take():
        seen += range(batch.start, batch.stop)
        batches.timed(batch, 0.2 * (batch.stop - batch.start))
    assert seen == list(range(3, 10))


def test_a_design_that_kills_its_workers_is_found_and_given_up() -> None:
    batches, rest, given_up = Batches(PLAN, [(0, PLAN.count)]), 0, []
    while batch := batches.take():
        if batch.start <= 7 < batch.stop:
            if (row := batches.died(batch)) is not None:
                given_up.append(row)
        else:
            rest += batch.stop - batch.start
    assert rest == PLAN.count - 1
    assert [g.start for g in given_up] == [7]
    assert f"{MOST_DEATHS} worker processes died" in str(given_up[0].rows[0][PLACE["reason"]])


def journaled(out: Path, rows: list[Row], *ranges: tuple[int, int]) -> Path:
    """A journal with those rows, left by a process that ended early."""
    with Journal(out, PLAN) as journal:
        for start, stop in ranges:
            journal.add(Solved(start=start, rows=rows[start:stop]))
    return journal.path


def test_a_journal_gives_back_its_rows_in_order(tmp_path: Path, solved: list[Row]) -> None:
    out = tmp_path / "new folder" / "out.csv"
    path = journaled(out, solved, (4, 12), (0, 2))
    assert path.name == "out.csv.partial"
    with Journal(out, PLAN) as journal:
        assert journal.done == [(0, 2), (4, 12)]
        journal.add(Solved(start=2, rows=solved[2:4]))
        assert list(journal.rows()) == solved
        journal.remove()
    assert not path.exists()


@pytest.mark.parametrize("cut", [1, 2, 40])
def test_a_last_line_cut_short_counts_for_nothing(tmp_path: Path, solved: list[Row], cut: int) -> None:
    out = tmp_path / "out.csv"
    path = journaled(out, solved, (0, 6), (6, 12))
    path.write_bytes(path.read_bytes()[:-cut])
    with Journal(out, PLAN) as journal:
        assert journal.done == [(0, 6)]
        journal.add(Solved(start=6, rows=solved[6:9]))
    with Journal(out, PLAN) as journal:
        assert journal.done == [(0, 6), (6, 9)]
        assert list(journal.rows()) == solved[:9]


def test_a_damaged_line_is_solved_again_and_nothing_is_doubled(
    tmp_path: Path, solved: list[Row]
) -> None:
    out = tmp_path / "out.csv"
    path = journaled(out, solved, (0, 4), (4, 8), (8, 12), (4, 8))
    lines = path.read_bytes().split(b"\n")
    lines[1] = lines[1].replace(b"carve", b"crave", 1)
    path.write_bytes(b"\n".join(lines))
    with Journal(out, PLAN) as journal:
        assert journal.done == [(4, 8), (8, 12)]
        assert journal.solved == 8


def test_rows_of_another_plan_are_kept_apart(tmp_path: Path, solved: list[Row]) -> None:
    out = tmp_path / "out.csv"
    path = journaled(out, solved, (0, 6))
    before = path.read_bytes()
    changed = plan_of(replace(JOB, input_sha256="another file"), VARIABLES)
    with Journal(out, changed) as journal:
        assert journal.solved == 0
        assert journal.replaced is not None
        assert journal.replaced.read_bytes() == before


def test_what_the_program_failed_at_is_tried_again(tmp_path: Path, solved: list[Row]) -> None:
    out = tmp_path / "out.csv"
    journaled(out, [faulty(PLAN, 0, "broken"), *solved[1:]], (0, 6), (6, 12))
    with Journal(out, PLAN) as journal:
        assert journal.done == [(6, 12)]


def test_two_sweeps_do_not_write_one_journal(tmp_path: Path) -> None:
    pytest.importorskip("fcntl")
    with (
        Journal(tmp_path / "out.csv", PLAN),
        pytest.raises(InputError, match="another sweep"),
    ):
        Journal(tmp_path / "out.csv", PLAN)


def test_stream_solves_only_what_is_left(solved: list[Row]) -> None:
    found = list(stream(PLAN, Here(), [(3, 12)]))
    assert [row for part in found for row in part.rows] == solved[:3]
    assert list(stream(PLAN, Here(), [(0, 12)])) == []


@pytest.fixture(scope="module")
def judged(solved: list[Row]) -> Judged:
    """The small sweep, its designs set against each other."""
    return judge(PLAN, solved)


def test_csv_names_its_units_and_repeats(tmp_path: Path, solved: list[Row], judged: Judged) -> None:
    path = tmp_path / "out.csv"
    write_csv(path, judged, solved)
    first = path.read_bytes()
    write_csv(path, judged, solved)
    assert path.read_bytes() == first
    lines = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    assert tuple(lines[0]) == columns(PLAN)
    assert list(lines[0])[:3] == ["thickness_mm", "length_mm", "rider_kg"]
    assert [lines[0][k] for k in list(lines[0])[:3]] == ["16.0", "650.0", "60.0"]
    # Numbers come back to the last bit; what is missing is empty.
    for line, row in zip(lines, solved, strict=True):
        mass = row[PLACE["mass_kg"]]
        assert line["mass_kg"] == ("" if mass is None else repr(mass))
    assert [line["front"] == "true" for line in lines] == judged.front.tolist()
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx"])
def test_no_text_is_a_formula(tmp_path: Path, solved: list[Row], judged: Judged, text: str) -> None:
    assert cell(text) == f"'{text}"
    rows = [[*solved[0]] for _ in solved]
    for row in rows:
        row[PLACE["governing"]] = text + ',"quoted"'
    write_csv(tmp_path / "out.csv", judged, rows)
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    assert {line["governing"] for line in lines} == {f'\'{text},"quoted"'}


def test_parquet_has_the_same_rows(
    tmp_path: Path, solved: list[Row], judged: Judged, monkeypatch: pytest.MonkeyPatch
) -> None:
    pl = pytest.importorskip("polars")
    monkeypatch.setattr("mastcheck.files.sweep_table._CHUNK", 5)  # several parts
    write_csv(tmp_path / "out.csv", judged, solved)
    write_parquet(tmp_path / "out.parquet", judged, solved)
    found = pl.read_parquet(tmp_path / "out.parquet")
    assert tuple(found.columns) == columns(PLAN)
    assert found["mass_kg"].to_list() == [row[PLACE["mass_kg"]] for row in solved]
    assert found["reason"].to_list() == [row[PLACE["reason"]] for row in solved]
    assert found["front"].to_list() == judged.front.tolist()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.csv", "out.parquet"]


def test_the_python_way() -> None:
    seen: list[tuple[int, int]] = []
    variables = (VARIABLES[1], Variable(key="rider", values=(90.0,)))
    found = sweep(JOB, variables, executor=Here(), progress=lambda done, of: seen.append((done, of)))
    assert [o.settings["thickness"] for o in found.outcomes] == [0.016, 0.02, 0.5]
    assert found.outcomes[1] == outcome(JOB, {"thickness": 0.02, "rider": 90.0})
    assert seen[-1] == (3, 3)
    assert len(found.front) == found.judged.front.sum() > 0


def test_the_picture_repeats_and_names_the_front(judged: Judged) -> None:
    fig = front_figure(judged)
    named = [{t.get_text() for t in ax.texts} for ax in fig.axes]
    front = {
        " · ".join(f"{s[k] * (1 if k == 'rider' else 1e3):g}" for k in PLAN.keys)
        for s in map(PLAN.settings, np.flatnonzero(judged.front).tolist())
    }
    assert len(named) == len(judged.objectives) - 1 == 3
    assert named[0] == named[1] == named[2] <= front
    assert len(named[0]) == min(len(front), MOST_LABELS)
    made = {suffix: picture(judged, suffix) for suffix in SUFFIXES}
    assert {made[".svg"][:5], made[".pdf"][:5], made[".png"][:4]} == {b"<?xml", b"%PDF-", b"\x89PNG"}
    assert picture(judged, ".svg") == made[".svg"] != picture(judged, ".svg", units="imperial")
    with pytest.raises(ValueError, match="no picture format"):
        picture(judged, ".gif")


def test_a_picture_of_nothing() -> None:
    """Every design refused: still a picture, that says so."""
    nothing = judge(PLAN, [faulty(PLAN, i, "x") for i in range(PLAN.count)])
    fig = front_figure(nothing)
    assert any("none holds" in t.get_text() for t in fig.texts)


def test_journal_lines_are_plain(tmp_path: Path, solved: list[Row]) -> None:
    """JSON behind a checksum, no pickle."""
    path = journaled(tmp_path / "out.csv", solved, (0, 6))
    for line in path.read_bytes().splitlines():
        json.loads(line.partition(b" ")[2])
