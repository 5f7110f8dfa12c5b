"""``mastcheck new``: a starter mast file."""

from __future__ import annotations

from pathlib import Path


def new(path: Path, /) -> int:
    """Write a commented starter mast file, ready to check and to edit.

    Args:
        path: where to write it; an existing file is never overwritten.

    Returns:
        The exit status.
    """
    from mastcheck.cli.text import one_line
    from mastcheck.files.mastfile import write_starter

    write_starter(path)
    print(f"wrote {one_line(str(path))}; next: mastcheck check {one_line(str(path))}")
    return 0
