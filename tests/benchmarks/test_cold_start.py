"""Whole processes, as seen from the shell. Run apart: pytest tests/benchmarks --benchmark-enable.

``python -m tests.benchmarks.test_cold_start`` prints rows for the README's table. Processes start from
byte code, as an installed package does. Where it is not said otherwise, sections are solved anew.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

PROFILES = Path(__file__).parents[2] / "profiles"
WIDE, TAPERED = (str(PROFILES / f"aluminium-75-{kind}.toml") for kind in ("wide", "tapered"))

COMMANDS: dict[str, tuple[tuple[str, ...], float]] = {
    "`--help`": (("--help",), 0.25),
    "`check`": (("check", WIDE, "--no-cache"), 1.5),
    "`check`, sections kept": (("check", WIDE), 1.5),
    "`compare` of two with PDF": (("compare", WIDE, TAPERED, "--no-cache", "--report", "two.pdf"), 3.0),
}
"""Commands, and the seconds each may take on two cores."""


def process(words: tuple[str, ...], folder: Path) -> None:
    """Run a command in a folder: its byte code and its sections are kept there as well."""
    environment = {
        **os.environ,
        "PYTHONPYCACHEPREFIX": str(folder / "bytecode"),
        "XDG_CACHE_HOME": str(folder / "cache"),
    }
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    ran = subprocess.run(
        [sys.executable, "-P", "-m", "mastcheck", *words],
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
        timeout=120,
    )
    if ran.returncode not in (0, 1):  # 1: a limit exceeded, which is an answer
        raise RuntimeError(ran.stderr.decode(errors="replace"))


@pytest.mark.parametrize("name", COMMANDS)
def test_cold_start(benchmark, name, tmp_path_factory) -> None:
    folder = tmp_path_factory.getbasetemp()  # one for all: byte code is written once
    words, _ = COMMANDS[name]
    benchmark.pedantic(process, args=(words, folder), rounds=5, warmup_rounds=1)


def cold_start_rows(rounds: int = 5) -> list[str]:
    """Rows of a table: command, median and least seconds, seconds allowed."""
    rows = []
    with tempfile.TemporaryDirectory() as name:
        for what, (words, allowed) in COMMANDS.items():
            process(words, Path(name))
            found = sorted(_timed(words, Path(name)) for _ in range(rounds))
            rows.append(f"| {what} | {found[rounds // 2]:.2f} s | {found[0]:.2f} s | {allowed:g} s |")
    return rows


def _timed(words: tuple[str, ...], folder: Path) -> float:
    start = time.perf_counter()
    process(words, folder)
    return time.perf_counter() - start


if __name__ == "__main__":
    print("| whole process, cold | median | least | target |", "| --- | --- | --- | --- |", sep="\n")
    print(*cold_start_rows(), sep="\n")
