"""What fuzzing and reading the readers for it found, each as its smallest input."""

from __future__ import annotations

import json
import zlib
from pathlib import Path
from typing import Any

import pytest

from mastcheck.cli.main import main
from mastcheck.errors import InputError
from mastcheck.files.coordinates import read_coordinates
from mastcheck.files.mastfile import load
from mastcheck.files.readings import read_readings
from mastcheck.files.sized import out_problems
from mastcheck.files.sweep_journal import Journal
from mastcheck.search.batches import Solved
from mastcheck.search.outcome import Outcome
from mastcheck.search.rows import COLUMNS, PLACE, row_of
from mastcheck.units import Dimension, UnitError, parse
from tests.fuzz.readers import READERS
from tests.fuzz.trial import tried
from tests.sweeps import PLAN

ROW = list(row_of(Outcome(settings={}, verdict="pass", mass_kg=1.5)))


def _line(content: object) -> bytes:
    text = json.dumps(content, separators=(",", ":")).encode()
    return b"%08x %s\n" % (zlib.crc32(text), text)


def _row(**changed: Any) -> list[Any]:
    return [changed.get(name, value) for name, value in zip(COLUMNS, ROW, strict=True)]


ODD_LINES = {
    "rows that are no list": [0, 3],
    "no rows": [0, []],
    "one part": [1],
    "three parts": [0, [ROW], 0],
    "a row that is no list": [0, [None]],
    "a short row": [0, [[1.0]]],
    "a text for a number": [0, [_row(mass_kg="heavy")]],
    "a number for a text": [0, [_row(verdict=3)]],
    "not finite": [0, [_row(mass_kg=float("nan"))]],
    "before the first design": [-1, [ROW]],
    "after the last design": [PLAN.count, [ROW]],
    "far after the last design": [10**30, [ROW]],
    "a design that is no number": ["0", [ROW]],
    "true for a design": [True, [ROW]],
}


@pytest.mark.parametrize("what", ODD_LINES)
def test_a_journal_line_that_is_whole_but_odd_counts_for_nothing(tmp_path: Path, what: str) -> None:
    out = tmp_path / "out.csv"
    with Journal(out, PLAN) as journal:
        journal.add(Solved(start=4, rows=[ROW]))
    with journal.path.open("ab") as file:
        file.write(_line(ODD_LINES[what]))
        file.write(b"ffffffff " + b"[" * 100_000 + b"\n")
        file.write(_line([5, [ROW]]))
    with Journal(out, PLAN) as journal:
        assert journal.done == [(4, 5), (5, 6)]
        assert [row[PLACE["mass_kg"]] for row in journal.rows()] == [1.5, 1.5]


def test_a_journal_line_nested_without_end_counts_for_nothing(tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    with Journal(out, PLAN) as journal:
        journal.add(Solved(start=4, rows=[ROW]))
    text = b"[" * 100_000
    with journal.path.open("ab") as file:
        file.write(b"%08x %s\n" % (zlib.crc32(text), text))
    with Journal(out, PLAN) as journal:
        assert journal.done == [(4, 5)]


def _told(read: object) -> str:
    with pytest.raises(InputError) as caught:
        read()  # type: ignore[operator]
    return str(caught.value)


def test_a_key_of_thousands_of_parts_takes_no_time_and_no_memory(tmp_path: Path) -> None:
    """The standard parser took gigabytes over 40 kB of ``a.a.a.``."""
    file = tmp_path / "mast.toml"
    file.write_text("a." * 20_000 + "b = 1\n", encoding="utf-8")
    outcome = tried(load, file, longest=5)
    assert (outcome.kind, "parts" in outcome.told) == ("refusal", True)


def test_a_dotted_number_or_name_is_no_such_key(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    numbers = ", ".join(["1.5"] * 200)
    for text in (f"x = [{numbers}]\n", "x = '" + "." * 100 + "'\n", "# " + "-" * 1000 + "\n"):
        file.write_text(text, encoding="utf-8")
        assert "parts" not in _told(lambda: load(file))


def test_a_column_of_blanks_takes_no_time(tmp_path: Path) -> None:
    """A pattern tried every way to part them: minutes for a header of 5 kB."""
    file = tmp_path / "bench.csv"
    file.write_text(f"load [kg],g{' ' * 9000}x{' ' * 900},(({' ' * 90}\n1,2\n", encoding="utf-8")
    assert tried(lambda path: read_readings(path, 0.7), file, longest=5).kind == "refusal"


@pytest.mark.parametrize(
    ("head", "unit"),
    [
        ("load [kg]", "kg"), ("load(kg)", "kg"), ("load ( kg )", "kg"), (" Load  [kg] ", "kg"),
        ("load", None), ("load []", None), ("load [kg", None), ("load kg]", None), ("load [k]g]", None),
    ],
)  # fmt: skip
def test_a_column_has_its_unit_in_brackets(tmp_path: Path, head: str, unit: str | None) -> None:
    file = tmp_path / "bench.csv"
    row = "5,side,700,side,700,1\n"
    file.write_text(
        f"{head},direction,load_z [mm],gauge,gauge_z [mm],reading [mm]\n{row}", encoding="utf-8"
    )
    if unit:
        assert read_readings(file, 0.7)[0].amount == pytest.approx(5 * 9.80665)
    else:
        assert "unit" in (told := _told(lambda: read_readings(file, 0.7))) or "column" in told


def test_a_row_too_long_for_the_csv_reader_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "bench.csv"
    file.write_text("x" * 140_000, encoding="utf-8")
    assert "is longer than" in _told(lambda: read_readings(file, 0.7))


@pytest.mark.parametrize("number", ["ınf", "ınfinity", "1e٣"])
def test_letters_that_only_look_like_a_number_are_none(tmp_path: Path, number: str) -> None:
    """A pattern without regard to case takes a dotless i for an i; ``float`` does not."""
    file = tmp_path / "list.csv"
    file.write_text(f"1,0\n0.5,{number}\n0,0\n0.5,-0.1\n", encoding="utf-8")
    assert "is not a number" in _told(lambda: read_coordinates(file, label="list.csv"))


@pytest.mark.parametrize("text", ["1 x" + " " * 200_000 + "y", "1" + " " * 200_000, " " * 200_000 + "x"])
def test_a_quantity_of_blanks_takes_no_time(text: str, tmp_path: Path) -> None:
    def read(_: Path) -> None:
        with pytest.raises(UnitError):
            parse(text, Dimension.LENGTH)

    assert tried(read, tmp_path, longest=5).kind == "result"


@pytest.mark.parametrize("text", [" 750 mm", "750 mm\n", "\t750\tmm ", "7.5e2 mm", "750mm"])
def test_blanks_around_a_quantity_are_nothing(text: str) -> None:
    assert parse(text, Dimension.LENGTH) == 0.75


def test_a_number_that_python_will_not_print_is_named(tmp_path: Path) -> None:
    file = tmp_path / "mast.toml"
    file.write_text(f"[mast]\nlength = 0x{'F' * 9000}\n", encoding="utf-8")
    assert "mast.length = a very large integer: a bare number has no unit" in _told(lambda: load(file))


def test_brackets_without_end_are_no_traceback_where_a_size_is_to_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "mast.toml"
    file.write_text("a = " + "[" * 5000, encoding="utf-8")
    assert main(["size", str(file), "--out", str(tmp_path / "other" / "new.toml")]) == 2
    assert "nested too deeply" in capsys.readouterr().err


def test_a_mast_that_names_a_file_is_not_written_where_it_would_not_be_found(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    file = tmp_path / "mast.toml"
    for text in ('[section]\nfile = "x.csv"\n', '[[mast.station]]\nfile = "x.csv"\n'):
        file.write_text(text, encoding="utf-8")
        told = [p.rule for p in out_problems(file, tmp_path / "there" / "new.toml", ())]
        assert told == [
            "the mast file names outline files beside it, which would not be found from another folder"
        ]
        assert not list(out_problems(file, tmp_path / "new.toml", ()))


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("5 5\n1e308 0\n0 0\n1 1\n2 2\n", "is beyond any section"),
        ("1,0\n0.5,0.1\n1e-320,0\n0.5,-1e300\n", "is beyond any section"),
        ("5e-320,0\n0,1e-320\n3e-320,0\n0,-1e-320\n", "all points have one x"),
        ("1e8,0\n100000000.05,0.001\n1e8,0.001\n100000000.02,-0.001\n", "all points have one x"),
    ],
)
def test_numbers_near_the_ends_of_their_range_are_a_plain_refusal(
    tmp_path: Path, rows: str, told: str
) -> None:
    """A warning of an overflow reached the terminal."""
    file = tmp_path / "list.csv"
    file.write_text(rows, encoding="utf-8")
    assert told in _told(lambda: read_coordinates(file, label="list.csv"))


def _drawn(file: Path, draw: object) -> str:
    import ezdxf
    from ezdxf import units

    doc = ezdxf.new("R2010", units=units.MM)
    draw(doc.modelspace())  # type: ignore[operator]
    doc.saveas(file)
    outcome = tried(READERS["dxf"].read, file)
    assert outcome.kind == "refusal", outcome
    return outcome.told


VAST = {
    "polyline": (
        lambda s: s.add_lwpolyline([(0, 0, 1), (1e308, 1e308, 1)], format="xyb"),
        "beyond 1e+09",
    ),
    "bulge": (lambda s: s.add_lwpolyline([(0, 0, 1e300), (9, 9, 1)], format="xyb"), "beyond 1e+09"),
    "circle": (lambda s: s.add_circle((0, 0), 1e300), "beyond 1e+09"),
    "wide circle": (lambda s: s.add_circle((0, 0), 9e8), "more than 200,000 points"),
    "ellipse": (lambda s: s.add_ellipse((0, 0), (1e12, 0), 0.5), "beyond 1e+09"),
    "wide ellipse": (lambda s: s.add_ellipse((0, 0), (9e8, 0), 0.5), "more than 200,000 points"),
    "flat arc": (lambda s: s.add_lwpolyline([(0, 0, 1e-9), (9, 0, 0)], format="xyb"), ""),
    "line": (lambda s: s.add_line((0, 0), (1e300, 0)), "a coordinate that is no number"),
}


@pytest.mark.parametrize("kind", VAST)
def test_a_vast_drawing_is_a_plain_refusal(tmp_path: Path, kind: str) -> None:
    """One warned of an overflow; an arc of a vast circle would have made points without end."""
    draw, told = VAST[kind]
    assert told in _drawn(tmp_path / "die.dxf", draw)


@pytest.mark.parametrize(
    "number", ["9" * 400_000 + "x", "0." + "9" * 400_000 + "x", "1e" + "9" * 400_000]
)
def test_a_number_of_very_many_digits_takes_no_time(tmp_path: Path, number: str) -> None:
    """A pattern tried every way to part its digits."""
    file = tmp_path / "list.csv"
    file.write_text(f"1,{number}\n0,0\n", encoding="utf-8")
    outcome = tried(lambda path: read_coordinates(path, label="list.csv"), file, longest=5)
    assert outcome.kind == "refusal", outcome


@pytest.mark.parametrize("number", ["1e999", "-1e400", "NaN", "Infinity"])
def test_a_number_too_large_in_a_result_file_is_a_plain_refusal(tmp_path: Path, number: str) -> None:
    (content,) = READERS["record"].seeds()
    assert b'"cautions"' in content
    file = tmp_path / "result.json"
    file.write_bytes(content.replace(b'"cautions"', b'"odd": ' + number.encode() + b', "cautions"', 1))
    outcome = tried(READERS["record"].read, file)
    assert (outcome.kind, "is no JSON" in outcome.told) == ("refusal", True), outcome
