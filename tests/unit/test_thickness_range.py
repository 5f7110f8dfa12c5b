"""Strengths stated for thinner walls can fail a mast, but never pass it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mastcheck.checks.result import Verdict
from mastcheck.checks.run import check
from mastcheck.checks.thickness import beyond_range
from mastcheck.job import Job
from mastcheck.mast import Wall
from tests.masts import ALUMINIUM, mast

THIN = replace(ALUMINIUM, name="thin-walled alloy", thickness_to=0.005)


@pytest.mark.parametrize(
    ("wall", "found"),
    [(0.005, None), (0.0051, 0.0051), (Wall.uniform(0.006), 0.006), (None, 0.018)],
)
def test_the_nominal_wall_is_held_to_the_range(wall, found):
    made = mast(wall=wall, material=THIN)
    got = beyond_range(made)
    assert got == ({} if found is None else {"thin-walled alloy": (found, 0.005)})
    assert beyond_range(mast(wall=wall)) == {}  # no bound stated


def test_beyond_it_a_pass_is_only_reported_and_named():
    job = Job(mast=mast((0.15, 0.018), (0.14, 0.017), material=THIN))
    calm = replace(job, cases=job.cases[:1])
    result = check(calm)
    rows = [c for c in result.checks if "thin-walled alloy" in c.name]
    assert rows
    assert all(c.verdict is Verdict.REPORT and "thinner walls" in c.name for c in rows)
    assert any("18 mm thick" in text and "not a pass" in text for text in result.cautions)
    weak = replace(THIN, proof_strength=1e6, ultimate_strength=1e6)
    failed = check(
        replace(calm, mast=replace(job.mast, section=replace(job.mast.section, material=weak)))
    )
    assert any(c.verdict is Verdict.FAIL and "thinner walls" in c.name for c in failed.checks)
