"""A bracketed root, without the third of a second that ``scipy.optimize`` takes to import."""

from __future__ import annotations

from collections.abc import Callable

MOST = 100  # evaluations; halving alone takes some 60 to the last bit


def root(f: Callable[[float], float], a: float, b: float) -> float:
    """Root of a continuous function between two places where it has opposite signs, to the last bits.

    By inverse quadratic interpolation where it is safe, else by halves (T. R. Chandrupatla, Advances in
    Engineering Software 28, 1997, from memory; the tests compare with ``scipy.optimize``).

    Args:
        f: the function.
        a: one end.
        b: the other.

    Raises:
        ValueError: the signs at the ends are the same.

    >>> round(root(lambda x: x * x - 2, 0.0, 2.0), 12)
    1.414213562373
    """
    fa, fb = f(a), f(b)
    if fa == 0 or fb == 0:
        return a if fa == 0 else b
    if (fa > 0) == (fb > 0):
        raise ValueError(f"no change of sign between {a:g} and {b:g}")
    c, fc = a, fa
    share = 0.5
    best = a
    for _ in range(MOST):
        x = a + share * (b - a)
        fx = f(x)
        if (fx > 0) == (fa > 0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, fx
        best = a if abs(fa) < abs(fb) else b
        least = 2e-16 * abs(best) / abs(b - a) if b != a else 1.0
        if fa == 0 or fb == 0 or least >= 0.5:
            break
        share = _share(a, fa, b, fb, c, fc)
        share = min(max(share, least), 1 - least)
    return best


def _share(a: float, fa: float, b: float, fb: float, c: float, fc: float) -> float:
    """Where to look next between a (0) and b (1), c being the place left last."""
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    if phi**2 < xi and (1 - phi) ** 2 < 1 - xi:
        return fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return 0.5
