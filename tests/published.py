"""Published values that tests share with ``mastcheck verify``, so that neither can drift."""

from __future__ import annotations

from mastcheck.verify.table import row


def published(name: str) -> float:
    """The value of that row of the verification table, in its own unit; the table has its source."""
    return row(name).published
