"""Strength floor: stresses of any resultants as weighted sums of unit fields."""
