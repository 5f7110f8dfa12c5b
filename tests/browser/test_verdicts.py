"""The page's live verdict on a case is that of the check, never a kinder one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from mastcheck.checks.compare import compare
from mastcheck.checks.result import CaseResult, Check, MastResult, Verdict
from mastcheck.checks.run import check
from mastcheck.files.mastfile import load
from mastcheck.job import Job
from mastcheck.loadcase import STANDARD_CASES, Lift
from tests.browser.conftest import PROFILES, Open, written

LIMITS = ("side deflection", "fore aft deflection", "roll", "pitch", "twist")


def _shipped(name: str) -> Job:
    return load(PROFILES / f"{name}.toml")


def _changed(folder: Path, old: str, new: str) -> Job:
    """The laminated mast with a line of its file changed."""
    text = (PROFILES / "carbon-75-layup.toml").read_text(encoding="utf-8")
    assert old in text
    file = folder / "mast.toml"
    file.write_text(text.replace(old, new), encoding="utf-8")
    return load(file)


def _job(kind: str, folder: Path) -> Job:
    wide = _shipped("aluminium-75-wide")
    match kind:
        case "follower":
            return replace(wide, cases=(replace(STANDARD_CASES[0], name="free", lift=Lift.FOLLOWER),))
        case "heavy rider":
            return replace(wide, rider=replace(wide.rider, mass=300.0))
        case "thicker than its strengths":
            recipe = replace(
                wide.mast.section, material=replace(wide.mast.section.material, thickness_to=0.002)
            )
            return replace(wide, mast=replace(wide.mast, section=recipe))
        case "unbalanced":
            return _changed(
                folder, 'angle = "0 deg"\nthickness = "0.2 mm"', 'angle = "20 deg"\nthickness = "0.2 mm"'
            )
        case "a lamina without strengths":
            strengths = ("Xt", "Xc", "Yt", "Yc", "S12")
            text = (PROFILES / "carbon-75-layup.toml").read_text(encoding="utf-8")
            lines = [line for line in text.splitlines(keepends=True) if line.split(" ")[0] in strengths]
            return _changed(folder, "".join(lines), "")
        case _:
            return _shipped(kind)


def _judged_live(case: CaseResult, one: Check) -> bool:
    """Whether a check is of the kinds that the page judges: stability, strength, the file's limits."""
    kinds = {str(f.criterion) for f in case.findings} | {"buckling factor"}
    kinds |= {"least of buckling factor under a dead lift and flutter factor", "coupling left out"}
    return one.case == case.case.name and (
        one.name.startswith(LIMITS) or any(one.name.startswith(kind) for kind in kinds)
    )


def _expected(result: MastResult, case: CaseResult) -> str:
    verdicts = {c.verdict for c in result.checks if _judged_live(case, c)}
    if Verdict.FAIL in verdicts or not case.stable:
        return "bad"
    # Flutter of a lift that follows the wing is not judged live, and so that case is never passed.
    open_ = Verdict.REPORT in verdicts or case.case.lift is Lift.FOLLOWER
    return "open" if open_ else "good"


@pytest.mark.parametrize(
    "kind",
    [
        "aluminium-75-tapered",
        "aluminium-75-quiver",
        "carbon-95-wide",
        "follower",
        "heavy rider",
        "thicker than its strengths",
        "unbalanced",
        "a lamina without strengths",
    ],
)
def test_live_verdicts_are_those_of_the_check(open_page: Open, tmp_path: Path, kind: str) -> None:
    result = check(_job(kind, tmp_path))
    opened = open_page(written(compare([result]), tmp_path / "page.html"))
    found: list[dict[str, Any]] = opened.page.evaluate(
        """window.mastcheck.data.masts[0].cases.map((c) => {
          const { verdict, judged } = window.mastcheck.solve(0, { caseName: c.name });
          return { name: c.name, state: verdict.state, used: judged && judged.utilisation };
        })"""
    )
    expected = {c.case.name: _expected(result, c) for c in result.cases}
    assert {f["name"]: f["state"] for f in found} == expected
    for one, case in zip(found, result.cases, strict=True):
        used = None if case.utilisation is None else pytest.approx(case.utilisation, rel=1e-6)
        assert one["used"] == used
    assert opened.faults == []
    # Each kind is here for what it shows.
    states = set(expected.values())
    shows = {"heavy rider": "bad", "aluminium-75-tapered": "bad", "carbon-95-wide": "good"}
    assert (
        shows.get(kind, "open" if " " in kind or kind in ("follower", "unbalanced") else "good")
        in states
    )
