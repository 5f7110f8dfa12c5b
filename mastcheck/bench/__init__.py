"""Bench tests: a test sheet from a mast, and its real stiffness from readings."""
