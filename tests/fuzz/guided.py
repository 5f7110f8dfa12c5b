"""The same readers under a fuzzer that watches which code an input reaches, and goes on from there.

``python -m tests.fuzz.guided csv --inputs 20000``. Needs ``atheris`` from the Python package index; it
is no dependency of the tests, since it has wheels for few systems.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz.readers import READERS, Reader, prepare
from tests.fuzz.run import Count
from tests.fuzz.trial import tried

GUIDED = ("mast", "dxf", "csv", "readings")
WATCHED = ["mastcheck.files", "mastcheck.units", "mastcheck.laminate", "tomllib", "ezdxf"]
LOADED = (
    "ezdxf.recover", "tomllib._parser", "mastcheck.files.coordinates", "mastcheck.files.drawing",
    "mastcheck.files.mastfile", "mastcheck.files.build", "mastcheck.files.readings",
)  # fmt: skip
SHARE_OWN = 0.5
"""Share of the changes that know the format; the rest is the fuzzer's own, which knows bytes."""


def main() -> None:
    """Run one reader; the counts are printed at the last input, where the fuzzer ends the process."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.guided", allow_abbrev=False)
    parser.add_argument("reader", choices=GUIDED)
    parser.add_argument("--inputs", type=int, default=10_000)
    parser.add_argument("--keep", type=Path, default=None, help="folder for inputs that showed a fault")
    given = parser.parse_args()
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is not installed: pip install atheris (Linux, CPython 3.11 to 3.13)")
    with atheris.instrument_imports(include=WATCHED):
        for name in LOADED:
            importlib.import_module(name)
    warnings.simplefilter("error")  # a user would see them
    reader = READERS[given.reader]
    folder = Path(tempfile.mkdtemp(prefix="guided-"))
    prepare(folder)
    corpus = folder / "corpus"
    corpus.mkdir()
    for i, content in enumerate(reader.seeds()):
        (corpus / f"seed-{i}").write_bytes(content)
    count = Count(reader.key)

    def one(data: bytes) -> None:
        path = folder / reader.name
        path.write_bytes(data)
        outcome = tried(reader.read, path)
        before = len(count.faults)
        count.add(count.inputs, outcome)
        if given.keep is not None and len(count.faults) > before:
            given.keep.mkdir(parents=True, exist_ok=True)
            (given.keep / f"guided-{count.inputs}-{reader.name}").write_bytes(data)
        # The fuzzer leaves without a word to Python, so that the last input tells the count.
        if count.inputs == given.inputs:
            print(count.line(), *(f"\n  {f.line()}" for f in count.faults.values()), flush=True)

    options = [
        sys.argv[0], f"-runs={given.inputs}", "-max_len=100000", "-timeout=60", "-rss_limit_mb=2000",
        "-verbosity=0", "-print_final_stats=1", f"-artifact_prefix={folder}{os.sep}", str(corpus),
    ]  # fmt: skip

    def plain(data: bytes, largest: int) -> bytes:
        return bytes(atheris.Mutate(data, largest))  # looked up late: the fuzzer sets it as it begins

    atheris.Setup(options, one, custom_mutator=_mutator(reader, plain))
    atheris.Fuzz()


def _mutator(reader: Reader, plain: Callable[[bytes, int], bytes]) -> Callable[[bytes, int, int], Any]:
    """A change of an input: by what knows the format, or by the fuzzer's own."""

    def change(data: bytes, largest: int, seed: int) -> bytes:
        rng = Random(seed)
        if rng.random() < SHARE_OWN:
            try:
                return reader.make(rng, (data,))[:largest]
            except (ValueError, RecursionError, IndexError, KeyError):
                pass  # the input is no longer of the format
        return plain(data, len(data))

    return change


if __name__ == "__main__":
    main()
