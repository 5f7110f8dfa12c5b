"""``mastcheck verify`` as a person meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf

from mastcheck.verify.table import rows
from tests.e2e.test_cli import assert_bad, mastcheck


def test_the_whole_table_holds_and_is_written(tmp_path: Path) -> None:
    report, data = tmp_path / "verification.pdf", tmp_path / "verification.json"
    run = mastcheck("verify", "--report", str(report), "--json", str(data))
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr
    assert run.stderr == ""
    assert "\x1b" not in run.stdout
    lines = run.stdout.splitlines()
    for row in rows():
        line = next(line for line in lines if line.startswith(f"{row.id}  "))
        assert row.quantity in line
        assert line.split()[-2] == "held"
    assert f"{len(rows())} published values computed anew: all within their tolerances." in lines
    assert "A calculation aid, not approval" in run.stdout

    whole = json.loads(data.read_text(encoding="utf-8"))
    assert [r["id"] for r in whole["rows"]] == [r.id for r in rows()]
    assert {r["grade"] for r in whole["rows"]} == {"read", "recomputed", "from memory"}
    assert whole["held"] is True
    assert all(abs(r["difference"] or 0) <= r["tolerance"] for r in whole["rows"])

    pages = pypdf.PdfReader(report).pages
    assert 3 <= len(pages) <= 7
    text = "\n".join(page.extract_text() for page in pages)
    for row in rows():
        assert row.id in text
    assert "How far it has been from measurements" in text


def test_the_same_bytes_again(tmp_path: Path) -> None:
    made = []
    for name in ("a", "b"):
        files = [tmp_path / f"{name}.json", tmp_path / f"{name}.pdf"]
        run = mastcheck("verify", "--only", "water", "--json", str(files[0]), "--report", str(files[1]))
        assert run.returncode == 0, run.stderr
        made.append([f.read_bytes() for f in files])
    assert made[0] == made[1]


def test_some_areas_alone() -> None:
    run = mastcheck("verify", "--only", "bolts", "--only", "water")
    assert run.returncode == 0, run.stderr
    assert "Bolts\n" in run.stdout
    assert "Water\n" in run.stdout
    assert "Beams\n" not in run.stdout


def test_what_cannot_be_is_refused(tmp_path: Path) -> None:
    assert_bad(mastcheck("verify", "--only", "boats"), "boats")
    assert_bad(mastcheck("verify", "--report", str(tmp_path / "v.html")), "must end in .pdf")
    assert_bad(mastcheck("verify", "--json", str(tmp_path)), "is a folder")
