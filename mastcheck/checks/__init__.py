"""Checks floor: job to results and verdicts; masts compared."""
