"""The version of this package, in a module that every floor may import."""

from __future__ import annotations

__version__ = "0.6.0"
