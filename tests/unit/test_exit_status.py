"""What a script is told: held, exceeded, unstable, or not to be relied on."""

from __future__ import annotations

import dataclasses

from mastcheck.checks.result import Verdict
from mastcheck.cli.options import exit_status
from tests.reports import compare, make_mast


def test_each_reason_to_doubt_a_mast_is_a_one():
    good = make_mast()
    calm = dataclasses.replace(
        good,
        cases=tuple(dataclasses.replace(c, stable=True) for c in good.cases),
        checks=tuple(dataclasses.replace(c, verdict=Verdict.PASS) for c in good.checks),
        self_checks=tuple(dataclasses.replace(c, verdict=Verdict.PASS) for c in good.self_checks),
    )
    assert exit_status(compare(calm)) == 0
    for changed in (
        {"cases": (dataclasses.replace(calm.cases[0], stable=False), *calm.cases[1:])},
        {"checks": (dataclasses.replace(calm.checks[0], verdict=Verdict.FAIL), *calm.checks[1:])},
        {"self_checks": (dataclasses.replace(calm.self_checks[0], verdict=Verdict.FAIL),)},
    ):
        assert exit_status(compare(dataclasses.replace(calm, **changed))) == 1
        assert exit_status(compare(calm, dataclasses.replace(calm, **changed))) == 1
