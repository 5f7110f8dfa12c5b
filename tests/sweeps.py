"""A small sweep for tests: quick to solve, with designs that hold, fail and cannot be built."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mastcheck.job import Job
from mastcheck.limit import Limit, Quantity
from mastcheck.loadcase import STANDARD_CASES
from mastcheck.search.plan import Plan, plan_of
from mastcheck.search.variables import Variable
from tests.masts import mast

CARVE = next(case for case in STANDARD_CASES if case.name == "carve")
SIZES = (0.12, 0.018)
JOB = Job(
    mast=replace(mast(SIZES, SIZES, length=0.7), name="=sum(A1)"),
    cases=(CARVE,),
    limits=(Limit(quantity=Quantity.SIDE_DEFLECTION, case="carve", maximum=0.02),),
)
VARIABLES = (
    Variable(key="rider", values=(60.0, 90.0)),
    Variable(key="thickness", values=(0.016, 0.02, 0.5)),
    Variable(key="length", values=(0.65, 0.75)),
)
"""12 designs; a third is thicker than wide."""

PLAN: Plan = plan_of(JOB, VARIABLES)


@dataclass(frozen=True, kw_only=True)
class Deadly(Plan):
    """A plan of which one design takes the process with it that tries it, unless that is ``parent``."""

    parent: int
    deadly: int

    def settings(self, number: int) -> dict[str, float]:
        """As of any plan, but for one."""
        import os
        import signal

        if number == self.deadly and os.getpid() != self.parent:
            os.kill(os.getpid(), signal.SIGKILL)
        return super().settings(number)
