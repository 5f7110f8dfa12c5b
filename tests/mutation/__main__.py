"""A fixed sample of wrong lines against the tests: ``python -m tests.mutation [MODULE ...]``.

Each module of ``targets.toml`` is changed in so many places, one at a time, and the tests named there
are run on each. A mutant that no test notices survives, and is listed unless ``equivalent.toml`` says
why nothing can notice it. Ends with 1 where one survives unexplained.
"""

from __future__ import annotations

import argparse
import sys
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.mutation.mutants import Mutant, sample
from tests.mutation.trial import Outcome, prepare, trial

HERE = Path(__file__).parent


@dataclass
class Score:
    """Counts of one module; of the survivors, those that nothing can notice and why, and the others."""

    path: str
    killed: int = 0
    equal: list[tuple[Mutant, str]] = field(default_factory=list)
    survived: list[Mutant] = field(default_factory=list)

    @property
    def tried(self) -> int:
        """All mutants tried."""
        return self.killed + len(self.equal) + len(self.survived)

    def line(self) -> str:
        """The counts, and the share that was noticed of what can be."""
        able = self.tried - len(self.equal)
        share = f"{self.killed / able:.0%}" if able else "none"
        return (
            f"{self.path}: {self.tried} tried, {self.killed} killed, {len(self.survived)} survived, "
            f"{len(self.equal)} equivalent: {share}"
        )


def main() -> int:
    """Try the sample and print what was found."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation", description=__doc__, allow_abbrev=False
    )
    parser.add_argument("module", nargs="*", help="only these, as in targets.toml")
    parser.add_argument("--seed", type=int, default=0, help="another seed, other mutants")
    parser.add_argument("--mutants", type=int, help="so many of each module instead of its own number")
    parser.add_argument("--line", type=int, action="append", help="every mutant of these lines")
    given = parser.parse_args()
    targets = _read("targets.toml")
    if unknown := set(given.module) - targets.keys():
        parser.error(f"not in targets.toml: {', '.join(sorted(unknown))}")
    reasons = {
        (r["module"], r["before"], r["after"]): str(r["why"]) for r in _read("equivalent.toml")["mutant"]
    }
    prepare()
    scores = []
    for path in given.module or targets:
        target = targets[path]
        if given.line:
            chosen = [m for m in sample(path, sys.maxsize, 0) if m.line in given.line]
        else:
            chosen = sample(path, given.mutants or target["mutants"], given.seed)
        scores.append(_try(path, chosen, target["tests"], reasons))
    total = Score("all")
    for score in scores:
        total.killed += score.killed
        total.equal += score.equal
        total.survived += score.survived
    print(total.line())
    return int(bool(total.survived))


def _try(
    path: str, chosen: Iterable[Mutant], tests: list[str], reasons: dict[tuple[str, str, str], str]
) -> Score:
    """The mutants of one module, each against the tests, after the tests without any change."""
    plain, took = trial(path, None, tests, 600.0)
    if plain is not Outcome.SURVIVED:
        sys.exit(f"{path}: its tests fail without any change: {' '.join(tests)}")
    score = Score(path)
    for mutant in chosen:
        # A busy machine may be some times slower than it was a moment ago.
        outcome, _ = trial(path, mutant.source(), tests, 30.0 + 6 * took)
        before, after = mutant.change()
        if outcome is not Outcome.SURVIVED:
            score.killed += 1
        elif why := reasons.get((path, before, after)):
            score.equal.append((mutant, why))
        else:
            score.survived.append(mutant)
            print(f"  {path}:{mutant.line}: survived\n    - {before}\n    + {after}", flush=True)
    print(f"{score.line()} (tests without a change: {took:.1f} s)", flush=True)
    return score


def _read(name: str) -> dict[str, Any]:
    with (HERE / name).open("rb") as file:
        return tomllib.load(file)


sys.exit(main())
