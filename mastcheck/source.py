"""Where a number comes from, and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Grade(StrEnum):
    """How a number was come by."""

    MEASURED = "measured"
    STANDARD = "standard"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"
    ASSUMED = "assumed"
    USER = "stated by the mast file"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A title with its place in it (table, clause), and its grade."""

    title: str
    grade: Grade
    place: str = ""

    def __str__(self) -> str:
        """The source as printed in reports."""
        place = f", {self.place}" if self.place else ""
        return f"{self.title}{place} ({self.grade})"


PRACTICE = Source(title="recalled figure, editable in the mast file", grade=Grade.PRACTICE)
