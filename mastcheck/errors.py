"""Errors a person can act on: what, where, the rule, and how to mend it."""

from __future__ import annotations

from dataclasses import dataclass


def escaped(text: str) -> str:
    r"""Text safe for a terminal and on one line: what cannot be printed as an escape.

    >>> print(escaped("a\x1b[2J"))
    a\x1b[2J
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


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
        return escaped(f"{where}{self.key}{value}: {self.rule}{remedy}")


class InputError(MastcheckError):
    """Bad input. Carries every problem found, so that all can be mended at once."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(p) for p in problems))


class GeometryError(MastcheckError):
    """A cross-section that cannot be built or meshed."""
