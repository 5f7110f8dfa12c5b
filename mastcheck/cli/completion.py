"""``mastcheck completion``: a script with which the shell completes commands and options."""

from __future__ import annotations

from typing import Literal

Shell = Literal["bash", "zsh", "fish"]


def completion(shell: Shell, /) -> int:
    """Print the completion script of a shell; no file is written.

    Args:
        shell: The shell it is for.

    Returns:
        The exit status.
    """
    from mastcheck.cli.main import app

    print(app.generate_completion(shell=shell))
    return 0
