"""Parts of commands that only some files, terminals and installations meet."""

from __future__ import annotations

import dataclasses
import io
import logging
import signal
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from rich.console import Console

from mastcheck.cli import section, size, sweep
from mastcheck.cli.materials import find, print_entry
from mastcheck.cli.measurements import Measurements, read_measurements
from mastcheck.errors import Problem
from mastcheck.search.cluster import Cluster
from mastcheck.search.executors import Local
from tests.unit.test_size_words import over, sized

PROFILES = Path(__file__).parents[2] / "profiles"
MAST = PROFILES / "aluminium-75-tapered.toml"
command = import_module("mastcheck.cli.main")


def shown(print_it: Any, *what: Any) -> str:
    out = io.StringIO()
    print_it(Console(file=out, width=200), *what)
    return out.getvalue()


def test_nothing_that_could_be_sized_is_printed_without_tables_of_it() -> None:
    none = sized(best=None, result=None, found=False, governing=(), runs=())
    said = shown(size.print_size, none, "metric", None)
    assert "No mast within these bounds could be checked." in said
    assert "A step either way" not in said
    assert "What governs" not in said
    assert "What is in the way" in shown(size.print_size, over(), "metric", None)
    found = shown(size.print_size, sized(), "metric", Path("out.toml"))
    assert "What governs" in found
    assert "written to out.toml" in found


def test_an_entry_without_a_form_has_no_line_for_it() -> None:
    entry = find("EN AW-6082-T6")
    formed = dataclasses.replace(entry, form="drawn tube")
    lines = shown(print_entry, formed, "metric").splitlines()
    assert lines[2] == "drawn tube"
    bare = shown(print_entry, dataclasses.replace(entry, form=""), "metric").splitlines()
    assert bare == [*lines[:2], *lines[3:]]


@pytest.mark.parametrize(
    ("stem", "name"), [("own", "own"), ("x" * 80, "x" * 80), ("x" * 81, "measured mast")]
)
def test_a_mast_is_called_by_its_file_where_that_is_a_name(stem: str, name: str) -> None:
    given = Measurements(
        length="750 mm", mass="1.2 kg", station=("0 mm: 120 mm x 15 mm", "750 mm: 120 mm x 15 mm"),
        material="EN AW-6082-T6", construction="hollow",
    )  # fmt: skip
    problems: list[Problem] = []
    read = read_measurements(Path(f"{stem}.toml"), given, problems)
    assert problems == []
    assert read is not None
    assert read.mast.name == name
    read_measurements(Path("own.toml"), dataclasses.replace(given, name="x" * 81), problems)
    assert [problem.key for problem in problems] == ["--name"]


def test_a_section_of_several_materials_has_no_plain_geometry() -> None:
    none: Any = SimpleNamespace(geometry=None)
    with pytest.raises(ValueError, match="has no plain geometry"):
        section.geometry_table(none, "metric")


def test_plies_are_told_by_zone_and_a_drawing_of_zones_how_to_read_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawn = tmp_path / "section.dxf"
    file = PROFILES / "carbon-75-layup.toml"
    assert command.main(["section", str(file), "--at", "0", "--dxf", str(drawn)]) == 0
    said = capsys.readouterr().out
    assert drawn.stat().st_size > 0
    for zone in ("nose", "faces", "tail"):
        assert f"plies, {zone}" in said
    assert 'set the layers that begin with ZONE to "ignore" in [section.layers]' in " ".join(
        said.split()
    )


def test_a_table_that_cannot_be_written_here_is_told_before_the_sweep(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("mastcheck.files.sweep_table.can_write_parquet", lambda: False)
    words = ["--vary", "chord=120mm:140mm:2", "--out", str(tmp_path / "a.csv")]
    assert command.main(["sweep", str(MAST), *words, "--table", str(tmp_path / "a.parquet")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "--table" in line
    assert 'Parquet needs the extra "tables"' in line
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def logs() -> Iterator[None]:
    """Logging as it was."""
    before = logging.root.manager.disable
    yield
    logging.disable(before)


@pytest.mark.usefixtures("logs")
def test_a_sweep_runs_here_or_where_it_is_told() -> None:
    assert isinstance(sweep._executor(2, None, cached=True), Local)
    there = sweep._executor(None, "tcp://127.0.0.1:1", cached=False)
    assert isinstance(there, Cluster)
    assert (there.address, there.cached) == ("tcp://127.0.0.1:1", False)


@pytest.mark.parametrize(("error", "status"), [(None, 1), (KeyboardInterrupt(), 130)])
def test_the_script_ends_with_the_status_of_its_command(
    monkeypatch: pytest.MonkeyPatch, error: BaseException | None, status: int
) -> None:
    """Whatever stands in the place of the streams."""
    deaf: list[Any] = []

    def main() -> int:
        if error is not None:
            raise error
        return 1

    monkeypatch.setattr(command, "main", main)
    monkeypatch.setattr(command, "one_thread", lambda: None)
    monkeypatch.setattr(signal, "signal", lambda *how: deaf.append(how))
    raw = io.BytesIO()
    monkeypatch.setattr("sys.stdout", io.StringIO())
    monkeypatch.setattr("sys.stderr", io.TextIOWrapper(raw, encoding="ascii"))
    with pytest.raises(SystemExit) as ended:
        command.run()
    assert ended.value.code == status
    # Once all is done a key has nothing left to stop.
    assert deaf == ([(signal.SIGINT, signal.SIG_IGN)] if error is None else [])
    sys.stderr.write("mm²")
    sys.stderr.flush()
    assert raw.getvalue() == b"mm2"
