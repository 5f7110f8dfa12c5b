"""Beam floor: mast and load to compliance, deflection, twist and internal forces."""
