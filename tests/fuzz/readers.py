"""The readers under test: what each reads, from what its inputs are made, and how."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random

from tests.fuzz import drawings, tables, toml_files

PROFILES = Path(__file__).parents[2] / "profiles"
OUTLINES = ("aluminium-75-section.csv", "aluminium-75-extruded.dxf")
"""Files that stand beside each mast file that is tried."""


@dataclass(frozen=True, kw_only=True)
class Reader:
    """One reader: ``make`` gives the bytes of an input, ``read`` reads a file of them.

    ``name``: of the file, its suffix among it; ``share``: of the inputs of a run.
    """

    key: str
    name: str
    share: float
    seeds: Callable[[], tuple[bytes, ...]]
    make: Callable[[Random, tuple[bytes, ...]], bytes]
    read: Callable[[Path], object]

    def content(self, number: int, seed: int = 0) -> bytes:
        """The bytes of one input; the same on every machine."""
        return self.make(Random(f"{self.key} {seed} {number}"), self.seeds())


def shipped(pattern: str) -> tuple[bytes, ...]:
    """The shipped files of a kind, in the order of their names."""
    return tuple(path.read_bytes() for path in sorted(PROFILES.glob(pattern)))


@cache
def _mast_files() -> tuple[bytes, ...]:
    from mastcheck.files.materials import DATA

    return (*shipped("*.toml"), (DATA / "starter.toml").read_bytes())


@cache
def _drawings() -> tuple[bytes, ...]:
    return drawings.seeds(shipped("*.dxf"))


@cache
def _lists() -> tuple[bytes, ...]:
    whole = shipped("*section.csv")
    short = b"".join(b"%g,%g\n" % p for p in _LENS)
    two = b"".join(b"%g %g\n" % p for p in (*_LENS[4::-1], *_LENS[4:]))
    return (*whole, short, b"# a remark\n5 5\n" + two)


_LENS = (
    (1, 0), (0.7, 0.04), (0.4, 0.06), (0.1, 0.03), (0, 0),
    (0.1, -0.03), (0.4, -0.06), (0.7, -0.04), (1, 0),
)  # fmt: skip


@cache
def _readings() -> tuple[bytes, ...]:
    every = (
        b"load [kg],direction,load_z [mm],load_arm [mm],load_on,gauge,gauge_z [mm],gauge_arm [mm],"
        b"gauge_on,spacing [mm],reading [mm],error [mm],phase,repeat,run\n"
        b"5,side,700,0,blade,side,700,10,blade,,4.2,0.1,loading,a,1\n"
        b"10 N m,torque,700,,foil,twist,600,,blade,200,1.2,,unloading,b,1\n"
    )
    return (*shipped("*bench.csv"), every)


@cache
def _journals() -> tuple[bytes, ...]:
    import tempfile

    from mastcheck.files.sweep_journal import Journal
    from mastcheck.search.batches import Solved
    from mastcheck.search.outcome import Outcome
    from mastcheck.search.rows import row_of
    from tests.sweeps import PLAN

    row = row_of(Outcome(settings={}, verdict="pass", reason="made up", mass_kg=1.5))
    with tempfile.TemporaryDirectory() as folder:
        with Journal(Path(folder) / "out.csv", PLAN) as journal:
            for start in (0, 4, 8):
                journal.add(Solved(start=start, rows=[row] * 4))
        return (journal.path.read_bytes(),)


@cache
def _records() -> tuple[bytes, ...]:
    return ((PROFILES.parent / "tests" / "data" / "record-1.json").read_bytes(),)


def _mast(path: Path) -> object:
    from mastcheck.files.mastfile import load

    return load(path)


def _drawing(path: Path) -> object:
    from mastcheck.files.drawing import read_drawing
    from mastcheck.files.materials import library

    material = next(iter(library().values()))
    return read_drawing(path, label=path.name, material=material, fills={"CENTRE": "ignore"})


def _coordinates(path: Path) -> object:
    from mastcheck.files.coordinates import read_coordinates

    return read_coordinates(path, label=path.name)


def _bench(path: Path) -> object:
    from mastcheck.files.readings import read_readings

    return read_readings(path, 0.75)


def _journal(path: Path) -> object:
    from mastcheck.files.sweep_journal import Journal
    from mastcheck.search.sweep import judge
    from tests.sweeps import PLAN

    with Journal(path.with_suffix(""), PLAN) as journal:
        rows = list(journal.rows())
        whole = journal.solved == PLAN.count == len(rows)
        if whole:
            judge(PLAN, rows)
        return rows


def _record(path: Path) -> object:
    from mastcheck.cli.redraw import record_bytes
    from mastcheck.report.record import read_result

    return read_result(record_bytes(path), path.name)


READERS: dict[str, Reader] = {
    r.key: r
    for r in (
        Reader(
            key="mast",
            name="mast.toml",
            share=0.35,
            seeds=_mast_files,
            make=toml_files.changed,
            read=_mast,
        ),
        Reader(
            key="dxf",
            name="drawing.dxf",
            share=0.15,
            seeds=_drawings,
            make=drawings.changed,
            read=_drawing,
        ),
        Reader(
            key="csv", name="list.csv", share=0.2, seeds=_lists, make=tables.changed, read=_coordinates
        ),
        Reader(
            key="readings",
            name="bench.csv",
            share=0.15,
            seeds=_readings,
            make=tables.changed,
            read=_bench,
        ),
        Reader(
            key="journal",
            name="out.csv.partial",
            share=0.1,
            seeds=_journals,
            make=tables.journal,
            read=_journal,
        ),
        Reader(
            key="record",
            name="result.json",
            share=0.05,
            seeds=_records,
            make=tables.record,
            read=_record,
        ),
    )
}


def prepare(folder: Path) -> None:
    """Put beside the inputs what mast files name."""
    for name in OUTLINES:
        (folder / name).write_bytes((PROFILES / name).read_bytes())
