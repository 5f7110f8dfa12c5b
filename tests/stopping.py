"""The command in a process of its own, stopped by Ctrl-C at a moment that is the same on every run."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

# The interpreter tells what it does (imports, opens, renames): at the n-th such act, SIGINT.
_DRIVER = """
import os, signal, sys
event, word, left = sys.argv[1], sys.argv[2], int(sys.argv[3])
def heard(name, args):
    global left
    if name == event and any(word in str(arg) for arg in args):
        left -= 1
        if left == 0:
            os.write(2, b"struck\\n")
            os.kill(os.getpid(), signal.SIGINT)
sys.addaudithook(heard)
sys.argv = ["mastcheck", *sys.argv[4:]]
from mastcheck.__main__ import run
run()
"""


def stopped(
    event: str, word: str, count: int, *words: str | Path, cwd: Path, **env: str
) -> subprocess.CompletedProcess[str]:
    """Run the command; at the ``count``-th ``event`` that names ``word`` it gets a SIGINT.

    Raises: AssertionError where that moment never came, or a process is left behind.
    """
    process = subprocess.Popen(
        [sys.executable, "-c", _DRIVER, event, word, str(count), *map(str, words)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        cwd=cwd,
        env={**os.environ, **env},
        start_new_session=True,
    )
    out, error = process.communicate(timeout=300)
    assert error.startswith("struck\n"), (process.returncode, out, error)
    assert_gone(process.pid)
    return subprocess.CompletedProcess(words, process.returncode, out, error.removeprefix("struck\n"))


def limited(
    limit: Callable[[], object], *words: str | Path, cwd: Path
) -> subprocess.CompletedProcess[str]:
    """Run the command after ``limit`` has been called in its process."""
    return subprocess.run(
        [sys.executable, "-m", "mastcheck", *map(str, words)],
        capture_output=True,
        encoding="utf-8",
        cwd=cwd,
        check=False,
        timeout=300,
        preexec_fn=limit,
    )


def assert_gone(group: int) -> None:
    """No process of the group is left, or is not for long."""
    limit = time.monotonic() + 30
    while time.monotonic() < limit:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.02)
    raise AssertionError("a process outlives the command")
