"""Write files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from mastcheck.errors import InputError, Problem


def write_whole(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` in one step, creating its folder.

    The data goes to a temporary file beside the target, which then takes the target's place: a
    reader sees the old file or the new one, and a failure leaves the old one alone.

    Raises: InputError when the folder or the file cannot be written.
    """
    path = Path(path)
    scratch: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name[:40]}.", suffix=".part", dir=path.parent)
        scratch = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        # mkstemp makes files private; a report is for sharing, as far as the umask allows.
        umask = os.umask(0)
        os.umask(umask)
        scratch.chmod(0o666 & ~umask)
        scratch.replace(path)
    except OSError as error:
        raise InputError(
            (
                Problem(
                    key="output",
                    found=str(path),
                    rule=f"cannot be written ({error.strerror or error})",
                    remedy="choose a folder you may write to, with room left on its disk",
                ),
            )
        ) from error
    finally:
        if scratch is not None:
            scratch.unlink(missing_ok=True)
