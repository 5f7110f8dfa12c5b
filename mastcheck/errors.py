"""Errors a person can act on: what, where, the rule, and how to mend it."""

from __future__ import annotations

from dataclasses import dataclass


class MastcheckError(Exception):
    """Base of every error this package raises on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault in an input: place, what was found, the rule it breaks, and the remedy."""

    key: str
    found: str
    rule: str
    remedy: str = ""
    file: str = ""
    line: int | None = None

    def __str__(self) -> str:
        """One line: ``file:line: key = found: rule; remedy``."""
        where = f"{self.file}:{self.line}: " if self.line else (f"{self.file}: " if self.file else "")
        value = f" = {self.found}" if self.found else ""
        remedy = f"; {self.remedy}" if self.remedy else ""
        return f"{where}{self.key}{value}: {self.rule}{remedy}"


class InputError(MastcheckError):
    """Bad input. Carries every problem found, so that all can be mended at once."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(p) for p in problems))


class GeometryError(MastcheckError):
    """A cross-section that cannot be built or meshed."""
