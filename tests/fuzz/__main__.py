"""The long run: ``python -m tests.fuzz --inputs 100000``."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests.fuzz.readers import READERS
from tests.fuzz.run import Count, run


def main() -> int:
    """Try every reader; 1 where a fault was found."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.fuzz", description=__doc__, allow_abbrev=False
    )
    parser.add_argument("--inputs", type=int, default=10_000, help="inputs over all readers")
    parser.add_argument("--seed", type=int, default=0, help="another seed, other inputs")
    parser.add_argument(
        "--reader", action="append", choices=list(READERS), help="only this; may be repeated"
    )
    parser.add_argument("--first", type=int, default=0, help="number of the first input of each reader")
    parser.add_argument("--keep", type=Path, help="folder for the inputs that showed a fault")
    given = parser.parse_args()
    chosen = [READERS[key] for key in given.reader or READERS]
    whole = sum(reader.share for reader in chosen)
    counts: list[Count] = []
    for reader in chosen:
        inputs = round(given.inputs * reader.share / whole)
        counts.append(run(reader, range(given.first, given.first + inputs), given.seed, given.keep))
        print(counts[-1].line(), flush=True)
        for fault in counts[-1].faults.values():
            print(f"  {fault.line()}", flush=True)
    kinds = sum(len(c.faults) for c in counts)
    print(f"all readers: {sum(c.inputs for c in counts):,} inputs, {kinds} kinds of fault")
    return int(any(c.faults for c in counts))


sys.exit(main())
