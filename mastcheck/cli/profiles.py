"""``mastcheck profiles``: the shipped masts."""

from __future__ import annotations


def profiles() -> int:
    """List the shipped masts, all invented for demonstration.

    Returns:
        The exit status.
    """
    from mastcheck.cli.console import console
    from mastcheck.cli.tables import print_profiles
    from mastcheck.files.profiles import shipped

    print_profiles(console(), shipped())
    return 0
