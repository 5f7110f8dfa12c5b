"""``python -m mastcheck``: the same as the ``mastcheck`` command."""

from mastcheck.cli.main import run

if __name__ == "__main__":
    run()
