"""The command on a disk that is really full: a small file system in memory, filled to the brim.

It is mounted where this process alone sees it, for which Linux asks root or a user namespace.
"""

from __future__ import annotations

import os
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

_NO_MOUNT, _NOT_FULL = 77, 99
_SIZE = 4 << 20

# Mounts, copies the folder there, fills up, runs the command, copies what is there back.
_SCRIPT = f"""
source=$1 disk=$2 after=$3 room=$4; shift 4
mount -t tmpfs -o size={_SIZE} none "$disk" || exit {_NO_MOUNT}
cp -R "$source/." "$disk" || exit {_NO_MOUNT}
cd "$disk"
head -c {2 * _SIZE} /dev/zero >filler 2>/dev/null
if printf x 2>/dev/null >probe; then exit {_NOT_FULL}; fi
rm probe
[ "$room" = 0 ] || truncate -s "-$room" filler
"$@"
status=$?
rm filler
cp -R . "$after"
exit $status
"""
PAGE = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096
"""Files take room in steps of so many bytes there."""


@lru_cache(maxsize=1)
def _unshare() -> tuple[str, ...] | None:
    """The words that begin a command with mounts of its own; None where that is not allowed."""
    user = () if hasattr(os, "geteuid") and os.geteuid() == 0 else ("--user", "--map-root-user")
    words = ("unshare", *user, "--mount")
    try:
        done = subprocess.run(
            [*words, "mount", "-t", "tmpfs", "none", "/mnt"], capture_output=True, check=False
        )
    except OSError:
        return None
    return words if done.returncode == 0 else None


def can_fill_a_disk() -> bool:
    """Whether this machine lets this process mount a file system of its own."""
    return _unshare() is not None


def on_a_full_disk(
    folder: Path, *words: str | Path, room: int = 0, cwd: Path | None = None, **env: str
) -> tuple[subprocess.CompletedProcess[str], dict[str, bytes | None]]:
    """Run the command with a folder's files on a full disk.

    Args:
        folder: what is there before. Beside it ``disk``, where it is seen, and ``after`` are made.
        words: of the command.
        room: bytes left free.
        cwd: where the command runs; on the full disk where that is not said.
        env: further environment.

    Returns:
        The command, and the disk as it left it (see ``content``).
    """
    disk, after = folder.with_name("disk"), folder.with_name("after")
    disk.mkdir()
    inside = ["env", "-C", str(cwd)] if cwd else []
    run = subprocess.run(
        [
            *(_unshare() or ()), "sh", "-c", _SCRIPT, "sh", folder, disk, after, str(room),
            *inside, sys.executable, "-m", "mastcheck", *words,
        ],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, **env},
        check=False,
        timeout=300,
    )  # fmt: skip
    assert run.returncode not in (_NO_MOUNT, _NOT_FULL), run.stderr
    return run, content(after)


def content(folder: Path) -> dict[str, bytes | None]:
    """All that is in a folder: bytes of files, None for folders."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }
