"""The verification table: every published value against what the tool computes.

The values, their sources, grades and tolerances stand in mastcheck/data/verification.toml alone, which
``mastcheck verify`` reads too.
"""

from __future__ import annotations

import pytest

from mastcheck.files.shipped import shipped
from mastcheck.verify.catalogue import COMPUTATIONS
from mastcheck.verify.run import compute
from mastcheck.verify.table import AREAS, Known, rows


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.id)
def test_published_value(row):
    found = compute(row, shipped())
    assert found.fault == ""
    assert found.held, f"{found.computed} against {row.published} {row.unit}, {found.difference:.2e}"


def test_every_row_has_a_computation_and_every_computation_a_row():
    assert {r.computation for r in rows()} == set(COMPUTATIONS)


def test_the_table_spans_the_tool():
    assert len(rows()) >= 60
    for area in AREAS:
        assert sum(r.area == area for r in rows()) >= 5, area


def test_what_is_said_to_be_read_says_where():
    # "Read" is of a number that was seen: its source names the page, or who quotes it.
    for row in rows():
        if row.known is Known.READ:
            assert "read in" in row.source or "quote" in row.source, row.id


def test_no_source_is_the_tool_itself():
    for row in rows():
        assert "mastcheck" not in row.source.lower()
        assert len(row.why) >= 10, row.id


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.id)
def test_no_tolerance_is_generous(row):
    # A value off by a tenth would fail in any row.
    assert row.allowed < 0.1 * abs(row.published)
