"""Make every sample report anew: ``python reports/remake.py``, or into another folder, named after it.

The masts are invented; their files lie in ``profiles``. The same files give the same bytes.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HOME = Path(__file__).resolve().parent
WIDE, TAPERED = "profiles/aluminium-75-wide.toml", "profiles/aluminium-75-tapered.toml"

SAMPLES: dict[str, tuple[str, ...]] = {
    "wide-vs-tapered.pdf": ("compare", WIDE, TAPERED, "--report"),
    "wide-vs-tapered-brief.pdf": ("compare", WIDE, TAPERED, "--brief", "--report"),
    "wide-vs-tapered.html": ("page", WIDE, TAPERED, "--out"),
    "verification.pdf": ("verify", "--report"),
    "three-joints.pdf": ("check", "profiles/aluminium-75-three-joints.toml", "--tolerances", "--report"),
    "carbon-layup.pdf": ("check", "profiles/carbon-75-layup.toml", "--paper", "us-letter", "--report"),
}
"""Each sample by its name, with the command that makes it but for the path."""


def remake(folder: Path = HOME) -> None:
    """Write every sample into ``folder``.

    Raises: RuntimeError when a command refuses; 1, a limit that is exceeded, is an answer.
    """
    for name, words in SAMPLES.items():
        command = [sys.executable, "-m", "mastcheck", *words, str((folder / name).resolve())]
        # From the repository's folder, since a report names the files it read as they were given.
        run = subprocess.run(command, cwd=HOME.parent, capture_output=True, text=True, check=False)
        if run.returncode not in (0, 1):
            raise RuntimeError(f"{name}: {run.stderr}")


if __name__ == "__main__":
    remake(*map(Path, sys.argv[1:2]))
