"""The sample reports that are kept are what the program makes, byte for byte."""

from __future__ import annotations

import json
import math
import os
import platform
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from mastcheck.page.blocks import KINDS
from reports.remake import HOME, SAMPLES, TAPERED, WIDE, remake

PAGE = "wide-vs-tapered.html"
_DATA = re.compile(r'(?<=<script type="application/json" id="data">).*?(?=</script>)', re.DOTALL)


def _same(one: Any, other: Any) -> bool:
    """Whether page data say the same but for rounding; what is packed is compared by its shape."""
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(
            k in KINDS or _same(value, other[k]) for k, value in one.items()
        )
    if isinstance(one, list):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, float):
        return isinstance(other, float) and math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-9)
    return bool(one == other)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("samples")
    remake(folder)
    return folder


@pytest.mark.parametrize("name", [n for n in SAMPLES if n.endswith(".pdf")])
def test_report_is_remade_byte_for_byte(name: str, made: Path) -> None:
    assert (made / name).read_bytes() == (HOME / name).read_bytes()


def test_page_is_remade(made: Path) -> None:
    """All but its numbers byte for byte: of those the last digits are the processor's."""
    kept, new = ((folder / PAGE).read_text(encoding="utf-8") for folder in (HOME, made))
    assert _DATA.sub("", kept) == _DATA.sub("", new)
    assert _same(*(json.loads(_DATA.findall(page)[0]) for page in (kept, new)))


def test_page_of_a_result_file_is_the_page_of_its_masts(made: Path, tmp_path: Path) -> None:
    result, page = tmp_path / "result.json", tmp_path / "page.html"
    for words in (
        ["compare", WIDE, TAPERED, "--json", str(result)],
        ["page", str(result), "--out", str(page)],
    ):
        run = subprocess.run(
            [sys.executable, "-m", "mastcheck", *words],
            cwd=HOME.parent,
            capture_output=True,
            check=False,
        )
        assert run.returncode in (0, 1), run.stderr
    assert page.read_bytes() == (made / PAGE).read_bytes()


def test_every_sample_is_kept_and_no_other() -> None:
    kept = {p.name for p in HOME.iterdir() if p.suffix in {".pdf", ".html", ".json"}}
    assert kept == set(SAMPLES)


@pytest.mark.skipif(
    platform.machine() not in {"x86_64", "AMD64"}, reason="names kernels of one processor"
)
def test_report_does_not_hang_on_the_processor(tmp_path: Path) -> None:
    """Other linear algebra kernels add in another order; no digit or line of the report shows it."""
    reports = []
    wide = "AVX512F AVX512CD AVX512_SKX AVX512_CLX AVX512_CNL AVX512_ICL AVX512_SPR"
    for kernel, without in (("Prescott", wide), ("Haswell", "")):
        path = tmp_path / kernel / "report.pdf"
        words = ["compare", WIDE, TAPERED, "--no-cache", "--report", str(path)]
        run = subprocess.run(
            [sys.executable, "-m", "mastcheck", *words],
            cwd=HOME.parent,
            env={**os.environ, "OPENBLAS_CORETYPE": kernel, "NPY_DISABLE_CPU_FEATURES": without},
            capture_output=True,
            check=False,
        )
        assert run.returncode in (0, 1), run.stderr
        reports.append(path.read_bytes())
    assert reports[0] == reports[1]
