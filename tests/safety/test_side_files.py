"""Files beside the mast file: a stranger's text is refused in clean lines, or read as text."""

from __future__ import annotations

import copy
from pathlib import Path

import pytest

from mastcheck.cli.main import main
from mastcheck.errors import InputError
from mastcheck.files.coordinates import read_coordinates
from mastcheck.files.readings import read_readings
from tests.safety import whole
from tests.safety.contents import CONTENTS
from tests.safety.places import toml

ROOT = Path(__file__).parents[2]
READINGS = (ROOT / "profiles" / "aluminium-75-wide-bench.csv").read_text(encoding="utf-8")
POINTS = "x,y\n0,0\n.05,.05\n.3,.075\n.7,.045\n1,0\n.7,-.045\n.3,-.075\n.05,-.05\n"
LONGEST_LINE = 1500


def _told(error: InputError) -> None:
    assert error.problems
    for problem in error.problems:
        assert str(problem).isprintable()
        assert len(str(problem)) < LONGEST_LINE, str(problem)[:200]


@pytest.mark.parametrize("name", CONTENTS)
def test_readings_with_a_strangers_cells(name: str, tmp_path: Path) -> None:
    path = tmp_path / "readings.csv"
    content = CONTENTS[name].replace('"', '""')
    head, *rows = [line for line in READINGS.splitlines() if not line.startswith("#")]
    for text in (
        "\n".join((head, *rows, f'"{content}",{rows[0].partition(",")[2]}')),
        "\n".join((f'{head},"{content}"', *rows)),
        "\n".join((head, *rows, CONTENTS[name])),
        f"{CONTENTS[name]}\n" * 3,
    ):
        path.write_text(text, encoding="utf-8", newline="")
        try:
            read_readings(path, 0.75)
        except InputError as error:
            _told(error)


@pytest.mark.parametrize("name", CONTENTS)
def test_coordinates_with_a_strangers_lines(name: str, tmp_path: Path) -> None:
    path = tmp_path / "section.csv"
    content = CONTENTS[name]
    for text in (
        f"{content}\n{POINTS}",
        f"{POINTS}{content}\n",
        POINTS.replace(".3", content, 1),
        POINTS.replace("x,y", f"{content},y"),
    ):
        path.write_text(text, encoding="utf-8", newline="")
        try:
            read_coordinates(path, label="section.csv")
        except InputError as error:
            _told(error)


LAYERS = ["[bold]$x$", "#panic()", "مرحبا", "Z\u0300\u0316o", "x" * 250, "'a' & b", "\u202emast"]


@pytest.mark.parametrize("layer", LAYERS)
def test_a_drawing_with_a_strangers_layers(
    layer: str, tmp_path: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    raw = copy.deepcopy(whole.drawn())
    raw["section"].pop("layers")
    drawing = tmp_path / raw["section"]["file"]
    data = (folder / drawing.name).read_bytes()
    drawing.write_bytes(data.replace(whole.word(36).encode(), layer.encode()))
    path = tmp_path / "mast.toml"
    # Its filling is asked for, as the layer is named nowhere: the name comes out of the drawing alone.
    path.write_text(toml(raw), encoding="utf-8")
    assert main(["check", str(path), "--case", whole.word(35)]) in (0, 1, 2)
    told = capsys.readouterr()
    assert (told.out + told.err).replace("\n", "").isprintable()
    raw["section"]["layers"] = {"ABSENT": "void"}
    path.write_text(toml(raw), encoding="utf-8")
    assert main(["check", str(path)]) == 2
    assert capsys.readouterr().err.replace("\n", "").isprintable()
