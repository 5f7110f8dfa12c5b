"""``python -m mastcheck``: the same as the ``mastcheck`` command."""

import sys
from typing import NoReturn


def run() -> NoReturn:
    """Run the command; Ctrl-C while it is still being imported is no traceback either."""
    try:
        from mastcheck.cli.main import run as command

        command()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    run()
