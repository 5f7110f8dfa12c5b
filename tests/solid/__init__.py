"""Masts as quadratic solids (gmsh, CalculiX) against the beam; ``python -m tests.solid`` prints both."""
