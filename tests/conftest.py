"""Shared test settings: the same examples on every run, so that a failure can be repeated."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")
