"""Published values, and what this installation computes for them: ``mastcheck verify``."""
