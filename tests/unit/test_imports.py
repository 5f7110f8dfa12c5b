"""What a command imports: nothing it does not use, since libraries cost tenths of a second each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

WIDE = Path(__file__).parents[2] / "profiles" / "aluminium-75-wide.toml"

FIGURES = {"matplotlib", "typst"}
DRAWINGS = {"ezdxf"}
LIBRARY = {"sectionproperties"}
SEARCH = {"polars", "distributed", "multiprocessing.resource_tracker"}
SCIPY = {"scipy.optimize", "scipy.interpolate", "scipy.spatial", "scipy.special", "scipy.stats"}
NUMBERS = {"numpy", "scipy", "shapely"}

RUN = """
import json, sys
from mastcheck.cli.main import main
status = main(json.loads(sys.argv[1]))
print(json.dumps([status, sorted(sys.modules)]), file=sys.stderr)
"""


def imported(*words: str) -> set[str]:
    """Names of all modules in a fresh process after a command that ends well."""
    ran = subprocess.run(
        [sys.executable, "-c", RUN, json.dumps(words)],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        check=True,
        timeout=300,
    )
    status, modules = json.loads(ran.stderr)
    assert status == 0
    assert len(ran.stdout.splitlines()) > 5
    return set(modules)


@pytest.mark.parametrize(
    ("words", "unwanted"),
    [
        (("--help",), {"pydantic", *NUMBERS, *FIGURES, *DRAWINGS, *LIBRARY, *SEARCH}),
        (("profiles",), {*FIGURES, *DRAWINGS, *LIBRARY, *SEARCH, *SCIPY}),
        (("materials",), {"pydantic", "scipy", *FIGURES, *DRAWINGS, *LIBRARY, *SEARCH}),
        (("check", str(WIDE)), {*FIGURES, *DRAWINGS, *LIBRARY, *SEARCH, *SCIPY}),
        (("check", str(WIDE), "--no-cache"), {*FIGURES, *DRAWINGS, *LIBRARY, *SEARCH, *SCIPY}),
    ],
    ids=lambda value: " ".join(w for w in value if os.sep not in w) if isinstance(value, tuple) else "",
)
def test_a_command_imports_only_what_it_uses(words: tuple[str, ...], unwanted: set[str]) -> None:
    assert imported(*words) & unwanted == set()


def test_a_report_s_figures_are_drawn_with_what_a_check_leaves_out(tmp_path: Path) -> None:
    # So the names above are those that would show up.
    report = tmp_path / "report.pdf"
    assert "typst" in imported("check", str(WIDE), "--report", str(report))
    assert report.stat().st_size > 100_000
