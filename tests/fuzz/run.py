"""Many inputs for one reader, in processes of their own: one that dies takes one input with it."""

from __future__ import annotations

import multiprocessing
import resource
import tempfile
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from pathlib import Path

from tests.fuzz.readers import Reader, prepare
from tests.fuzz.trial import LONGEST, Outcome, tried

MEMORY = 2_000_000_000
"""Bytes of address space that reading may take: more is a fault."""

BATCH = 2000
"""Inputs for one process."""


@dataclass
class Fault:
    """One kind of fault: the first input that showed it, and how many did."""

    where: str
    told: str
    number: int
    count: int = 1

    def line(self) -> str:
        """In one line."""
        return f"{self.where} ({self.told!r}), input {self.number}, {self.count} inputs in all"


@dataclass
class Count:
    """How the inputs of one reader went."""

    reader: str
    inputs: int = 0
    results: int = 0
    refusals: int = 0
    faults: dict[str, Fault] = field(default_factory=dict)

    def add(self, number: int, outcome: Outcome) -> None:
        """Count one input."""
        self.inputs += 1
        self.results += outcome.kind == "result"
        self.refusals += outcome.kind == "refusal"
        if outcome.kind == "fault":
            if outcome.where in self.faults:
                self.faults[outcome.where].count += 1
            else:
                self.faults[outcome.where] = Fault(outcome.where, outcome.told, number)

    def line(self) -> str:
        """In one line."""
        counted = f"{self.inputs:>8,} inputs: {self.results:>7,} results, {self.refusals:>8,} refusals"
        bad = self.inputs - self.results - self.refusals
        return f"{self.reader:<9}{counted}, {bad} faults of {len(self.faults)} kinds"


def run(reader: Reader, numbers: Sequence[int], seed: int = 0, keep: Path | None = None) -> Count:
    """Try the inputs of these numbers; those that show a new kind of fault are kept in a folder."""
    count = Count(reader.key)
    at = 0
    _warm(reader)
    while at < len(numbers):
        batch = numbers[at : at + BATCH]
        tried_here = 0
        for outcome in _apart(reader, batch, seed):
            number = batch[tried_here]
            tried_here += 1
            before = len(count.faults)
            count.add(number, outcome)
            if keep is not None and len(count.faults) > before:
                keep.mkdir(parents=True, exist_ok=True)
                (keep / f"{reader.key}-{number}-{reader.name}").write_bytes(reader.content(number, seed))
        at += tried_here
    return count


def _warm(reader: Reader) -> None:
    """Read the seeds once, so that what is imported and kept is there before the processes part."""
    with tempfile.TemporaryDirectory() as name:
        prepare(Path(name))
        path = Path(name) / reader.name
        for content in reader.seeds():
            path.write_bytes(content)
            tried(reader.read, path)


def _apart(reader: Reader, numbers: Sequence[int], seed: int) -> list[Outcome]:
    """Outcomes from a process of their own, up to the input it died of."""
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_child, args=(reader, numbers, seed, there))
    process.start()
    there.close()
    out: list[Outcome] = []
    try:
        while len(out) < len(numbers):
            if not here.poll(10 * LONGEST):
                process.kill()
                out.append(Outcome("fault", "hangs past its alarm"))
                return out
            out.append(here.recv())
    except EOFError:
        process.join()
        out.append(Outcome("fault", f"the process died ({process.exitcode})"))
    finally:
        process.join()
        here.close()
    return out


def _mapped() -> int:
    """Address space of this process [bytes], where Linux tells it; else nothing."""
    told = Path("/proc/self/statm")
    return int(told.read_text().split()[0]) * resource.getpagesize() if told.exists() else 0


def _child(reader: Reader, numbers: Sequence[int], seed: int, pipe: Connection) -> None:
    """Try inputs one after another, with little memory."""
    # Beside what the process that was forked had mapped already: a whole test run has much.
    most = _mapped() + MEMORY
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prepare(folder)
        path = folder / reader.name
        for number in numbers:
            path.write_bytes(reader.content(number, seed))
            pipe.send(tried(reader.read, path))
    pipe.close()
