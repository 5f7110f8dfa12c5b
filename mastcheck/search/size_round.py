"""Sizes as they can be made: whole multiples of a step, and still within every limit."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence

from mastcheck.search.size_result import Design
from mastcheck.search.size_space import Free

REACH = (0, 1, 2)
"""How many steps from the next smaller multiple each size is tried: below, above, and one more."""
HOPELESS = 1.02
"""Designs guessed to use more of a limit than this are not tried."""


def round_up(
    design: Callable[[Mapping[str, float]], Design],
    free: Sequence[Free],
    best: Design,
    step: float,
    guess: Callable[[Mapping[str, float]], tuple[float, float]],
) -> Design | None:
    """The lightest design next to the best that holds, of those whose sizes are multiples of a step [m].

    Angles are rounded to whole degrees. None where none near it holds.

    Args:
        design: checks a design.
        free: what is sized.
        best: the design found.
        step: of lengths [m].
        guess: mass [kg] and greatest use of a design near it, without a check.
    """
    choices = []
    for f in free:
        by = math.radians(1) if f.is_angle else step
        first = math.floor(best.settings[f.key] / by + 1e-6)
        values = [float(f"{(first + k) * by:.10g}") for k in REACH]
        inside = [v for v in values if f.low - 1e-9 <= v <= f.high + 1e-9 and (v > 0 or f.is_angle)]
        choices.append([f.within(v) for v in inside])
    keys = [f.key for f in free]
    tried = [dict(zip(keys, values, strict=True)) for values in itertools.product(*choices)]
    hopeful = [(guess(settings), settings) for settings in tried]
    for (_, used), settings in sorted(hopeful, key=lambda pair: pair[0][0]):
        if used <= HOPELESS and (found := design(settings)).holds:
            return found
    return None
