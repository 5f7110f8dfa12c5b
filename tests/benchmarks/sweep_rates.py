"""How many designs a minute, and what a million take. ``python -m tests.benchmarks.sweep_rates``.

The mast is a profile with all its load cases. Rates are of work under way, without the start of workers.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import mastcheck
from mastcheck.files.sweep_journal import Journal
from mastcheck.files.sweep_table import write_csv, write_parquet
from mastcheck.search.batches import MOST_ROWS, Solved
from mastcheck.search.executors import Executor, Local
from mastcheck.search.plan import Plan, plan_of
from mastcheck.search.rows import Row, solve
from mastcheck.search.sweep import judge
from mastcheck.search.variables import Variable

MAST = Path(__file__).parents[2] / "profiles" / "aluminium-75-wide.toml"
MILLION = 1_000_000
ALIKE = 28
"""Lengths times riders for each set of sections in the million: 7 times 4."""

TABLE = 100_000
"""Rows of the table whose bytes are counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """Seconds of one worker for a design.

    ``own``: with sections of its own, none kept; ``shared``: with sections that are solved. ``two`` and
    ``cluster``: how much faster two local workers, and a cluster of two on this machine, are than one.
    Bytes of a row in the journal, as CSV and as Parquet.
    """

    own: float
    shared: float
    two: float
    cluster: float
    journal_bytes: float
    csv_bytes: float
    parquet_bytes: float


def steady(executor: Executor, plan: Plan) -> float:
    """Seconds for a design of work under way: two runs, one longer, so that start-up cancels."""
    few = plan.count // 4

    def seconds(count: int) -> float:
        start = time.perf_counter()
        rows = sum(len(solved.rows) for solved in executor.run(plan, [(0, count)]))
        assert rows == count
        return time.perf_counter() - start

    return (seconds(plan.count) - seconds(few)) / (plan.count - few)


def enough(plan: Plan, seconds: float = 12.0) -> int:
    """How many designs such as a plan's first take one worker so long."""
    solve(plan, 0, 1)
    start = time.perf_counter()
    solve(plan, 1, 3)
    return min(max(int(2 * seconds / (time.perf_counter() - start)), 16), 2000)


def own_sections(count: int) -> Plan:
    """Designs of which no two share a section."""
    chords = tuple(np.linspace(0.13, 0.17, count).tolist())
    return plan_of(mastcheck.load(MAST), (Variable(key="base_chord", values=chords),))


def shared_sections(count: int) -> Plan:
    """Designs that all have the same sections."""
    lengths = tuple(np.linspace(0.65, 0.95, count).tolist())
    return plan_of(mastcheck.load(MAST), (Variable(key="length", values=lengths),))


@contextmanager
def cluster_of_two() -> Iterator[Executor]:
    """A scheduler and two worker processes on this machine."""
    from distributed import LocalCluster

    from mastcheck.search.cluster import Cluster

    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as made:
        yield Cluster(made.scheduler_address)


def row_bytes(folder: Path, rows: int = TABLE) -> tuple[float, float, float]:
    """Bytes of a row in the journal, as CSV and as Parquet.

    The rows are those of a small sweep with numbers changed at random, so that none repeats.
    """
    few = solve(shared_sections(8), 0, 8)
    random = np.random.default_rng(1).uniform(0.9, 1.1, (rows, len(few[0])))

    def changed(i: int) -> Row:
        pairs = zip(few[i % len(few)], random[i].tolist(), strict=True)
        return [v * by if isinstance(v, float) else v for v, by in pairs]

    plan = shared_sections(rows)
    out = folder / "table.csv"
    with Journal(out, plan) as journal:
        for start in range(0, rows, MOST_ROWS):
            stop = min(start + MOST_ROWS, rows)
            changes = [changed(i) for i in range(start, stop)]
            journal.add(Solved(start=start, rows=changes))
        judged = judge(plan, journal.rows())
        write_csv(out, judged, journal.rows())
        write_parquet(out.with_suffix(".parquet"), judged, journal.rows())
        paths = (journal.path, out, out.with_suffix(".parquet"))
        return tuple(path.stat().st_size / rows for path in paths)  # type: ignore[return-value]


def measured() -> Rates:
    """All rates, in one run."""
    plan = shared_sections(enough(shared_sections(3)))
    own = steady(Local(1, cached=False), own_sections(max(plan.count // 4, 8)))
    shared = steady(Local(1), plan)
    two = shared / steady(Local(2), plan)
    with cluster_of_two() as executor:
        cluster = shared / steady(executor, plan)
    with tempfile.TemporaryDirectory() as folder:
        journal, csv, parquet = row_bytes(Path(folder))
    return Rates(
        own=own, shared=shared, two=two, cluster=cluster, journal_bytes=journal, csv_bytes=csv,
        parquet_bytes=parquet,
    )  # fmt: skip


def core_hours(rates: Rates, designs: int = MILLION, alike: int = ALIKE) -> float:
    """Hours of one core: sections for each group that shares them, the rest for each design."""
    sections = max(rates.own - rates.shared, 0.0)
    return designs * (rates.shared + sections / alike) / 3600


def report(rates: Rates) -> str:
    """The rates and the plan of a million designs, as Markdown."""
    hours = core_hours(rates)
    two, cluster = rates.two / rates.shared, rates.cluster / rates.shared
    rows = [
        ("designs a minute, one worker, every section new", f"{60 / rates.own:,.0f}"),
        ("designs a minute, one worker, sections shared", f"{60 / rates.shared:,.0f}"),
        ("designs a minute, two workers, sections shared", f"{60 * two:,.0f} ({rates.two:.2f} ×)"),
        ("designs a minute, cluster of two workers", f"{60 * cluster:,.0f} ({rates.cluster:.2f} ×)"),
        (f"a million designs, {ALIKE} to a set of sections", f"{hours:,.0f} core hours"),
        ("the same on 32 cores, at 90 %", f"{hours / 32 / 0.9:,.1f} hours"),
        ("the same on 256 cores, at 80 %", f"{hours / 256 / 0.8:,.1f} hours"),
    ]
    stores = (
        ("journal, while it runs", rates.journal_bytes),
        ("CSV", rates.csv_bytes),
        ("Parquet", rates.parquet_bytes),
    )
    rows += [
        (f"storage of a million: {name}", f"{size * MILLION / 1e6:,.0f} MB ({size:.0f} bytes a row)")
        for name, size in stores
    ]
    return "\n".join(["| what | measured |", "| --- | ---: |", *(f"| {a} | {b} |" for a, b in rows)])


if __name__ == "__main__":
    print(report(measured()))
