"""Sweeps by one worker, two, and a cluster of two. Run apart, as in ``test_speed``."""

from __future__ import annotations

import pytest

from mastcheck.search.executors import Local
from tests.benchmarks.ratios import Ratio
from tests.benchmarks.sweep_rates import (
    cluster_of_two,
    own_sections,
    row_bytes,
    shared_sections,
    steady,
)

DESIGNS = 40


@pytest.mark.parametrize("workers", [1, 2])
def test_lengths_of_one_mast(benchmark, workers: int) -> None:
    """Sections are solved once; start-up of the workers is part of it."""
    plan = shared_sections(DESIGNS)
    benchmark.pedantic(lambda: list(Local(workers).run(plan, [(0, DESIGNS)])), rounds=2)


def test_lengths_of_one_mast_on_a_cluster_of_two(benchmark) -> None:
    plan = shared_sections(DESIGNS)
    with cluster_of_two() as executor:
        benchmark.pedantic(lambda: list(executor.run(plan, [(0, DESIGNS)])), rounds=2)


def test_masts_without_a_section_in_common(benchmark) -> None:
    plan = own_sections(DESIGNS // 4)
    benchmark.pedantic(lambda: list(Local(1, cached=False).run(plan, [(0, plan.count)])), rounds=2)


def test_journal_and_tables_of_many_rows(benchmark, tmp_path_factory: pytest.TempPathFactory) -> None:
    benchmark.pedantic(lambda: row_bytes(tmp_path_factory.mktemp("rows"), 20_000), rounds=2)


def two_workers() -> Ratio:
    """For the table of ratios: one local worker to two."""
    plan = shared_sections(2 * DESIGNS)
    return Ratio(
        what="a design of a sweep over lengths: one worker to two",
        slow=steady(Local(1), plan),
        fast=steady(Local(2), plan),
    )


def lengths_share_sections() -> Ratio:
    """For the table of ratios: masts that share no section to lengths of one mast."""
    return Ratio(
        what="a design of a sweep, one worker: sections of its own to sections shared",
        slow=steady(Local(1, cached=False), own_sections(DESIGNS // 2)),
        fast=steady(Local(1), shared_sections(DESIGNS)),
    )


def cluster() -> Ratio:
    """For the table of ratios: one local worker to a cluster of two on the same machine."""
    plan = shared_sections(2 * DESIGNS)
    with cluster_of_two() as executor:
        fast = steady(executor, plan)
    return Ratio(
        what="a design of a sweep over lengths: one worker to a cluster of two",
        slow=steady(Local(1), plan),
        fast=fast,
    )


ROWS = (lengths_share_sections, two_workers, cluster)
"""For ``tests.benchmarks.ratios``."""
