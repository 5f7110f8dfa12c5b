"""``mastcheck materials`` as a person meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mastcheck.files.materials import entries
from tests.e2e.test_cli import assert_bad, mastcheck


def test_the_list_names_everything_with_its_grades() -> None:
    run = mastcheck("materials")
    assert run.returncode == 0, run.stderr
    assert run.stderr == ""
    assert "\x1b" not in run.stdout
    lines = run.stdout.splitlines()
    for entry in entries():
        assert any(line.startswith(f"{entry.name}  ") for line in lines), entry.name
    for words in ("Metals", "Laminas", "Laminate design figures", "Cores", "MPa", "GPa", "kg/m³"):
        assert words in run.stdout
    row = next(line for line in lines if line.startswith("EN AW-6005A-T6 5-10 mm"))
    assert row.split()[4:] == ["5-10", "215", "260", "70", "27", "2700", "standard", "memory"]
    row = next(line for line in lines if line.startswith("EN AW-6082-T6  "))
    assert row.split()[-2:] == ["memory", "memory"]


def test_one_in_full_with_every_source() -> None:
    run = mastcheck("materials", "EN AW-6005A-T6 5-10 mm")
    assert run.returncode == 0, run.stderr
    for words in (
        "EN AW-6005A, T6",
        "EN 1999-1-1, Table 3.2b, EP/O ER/B, 5 < t <= 10 mm; row read in a reproduction (standard)",
        "EN 1999-1-1, 3.2.5 (from memory)",
        "215 MPa",
        "260 MPa",
        "195.5 MPa",  # 215/1.10, below 260/1.25
        "0.53",
        "0.63",
        "5-10 mm",
        "1.10",
        "1.25",
        "70 GPa",
        "27 GPa",
        "2700 kg/m³",
        'material = "EN AW-6005A-T6 5-10 mm"',
        "aluminium",
        "certificate",
    ):
        assert words in run.stdout, words


@pytest.mark.parametrize("entry", entries(), ids=lambda entry: entry.name)
def test_each_one_prints_all_its_sources(
    entry, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from mastcheck.cli.main import main

    monkeypatch.setenv("COLUMNS", "200")
    assert main(["materials", entry.name]) == 0
    printed = capsys.readouterr().out
    for source in (entry.strengths, entry.elastic, entry.density, entry.gammas):
        assert source is None or str(source) in printed
    assert entry.note in printed


def test_a_name_needs_no_quotes_and_no_capitals() -> None:
    run = mastcheck("materials", "pvc", "foam", "80")
    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith("PVC foam 80\n")
    assert 'core = "PVC foam 80"' in run.stdout


def test_an_unknown_name_gives_two_and_the_nearest() -> None:
    assert_bad(
        mastcheck("materials", "6005"),
        'NAME = "6005"',
        '"EN AW-6005A-T6"',
        '"EN AW-6005A-T6 hollow"',
    )
    assert_bad(mastcheck("materials", "PVC foam 85"), '"PVC foam 80"')
    assert_bad(mastcheck("materials", "zzzzqq"), "mastcheck materials lists all names")


def test_imperial_units() -> None:
    # 225 MPa = 32.63 ksi, 70 GPa = 10.15 Msi, 2700 kg/m³ = 168.6 lb/ft³, 5 mm = 0.197 in.
    run = mastcheck("materials", "EN AW-6005A-T6", "--units", "imperial")
    assert run.returncode == 0, run.stderr
    for words in ("32.6 ksi", "10.2 Msi", "169 lb/ft³", "to 0.197 in"):
        assert words in run.stdout
    assert "MPa" not in run.stdout
    assert "ksi" in mastcheck("materials", "--units", "imperial").stdout


def test_json_of_one_and_of_all(tmp_path: Path) -> None:
    path = tmp_path / "out" / "m.json"
    assert mastcheck("materials", "EN AW-6061-T6", "--json", path).returncode == 0
    one = json.loads(path.read_text(encoding="utf-8"))
    assert one["schema"] == "mastcheck-materials/1"
    (row,) = one["materials"]
    assert row["name"] == "EN AW-6061-T6"
    assert row["kind"] == "metal"
    assert row["proof_strength_Pa"] == 240e6
    assert row["thickness_to_m"] == 0.02
    assert row["heat_affected_zone"]["rho_o"] == 0.48
    assert row["heat_affected_zone"]["proof_strength_Pa"] == 115e6
    assert row["density_kg_per_m3"] == 2700.0
    assert row["sources"]["strengths"]["grade"] == "standard"
    assert row["sources"]["density"]["grade"] == "from memory"
    assert mastcheck("materials", "--json", path).returncode == 0
    everything = json.loads(path.read_text(encoding="utf-8"))
    assert [m["name"] for m in everything["materials"]] == [e.name for e in entries()]
    assert_bad(mastcheck("materials", "--json", tmp_path), "cannot be written")
