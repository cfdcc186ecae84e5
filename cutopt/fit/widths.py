"""How wide a fragment is across, place by place along its slat, and its necks."""

from __future__ import annotations

import math
from itertools import pairwise

from cutopt.fit.records import Fragment
from cutopt.geometry import NEAR

STUB = 320  # ticks: a shorter stretch is no neck
POINTED = 2 * 320  # ticks: a tip is a point where it ends no wider than this


def strands(fragment: Fragment, u: float, slope: float = 0.0, v: float = 0.0) -> list[tuple[float, float]]:
    """The intervals across in which the fragment is wood at `u`: more than one beside a notch or hole within a slat.

    Along an oblique line that crosses `u` at `v`: `slope` is how far it moves along for each tick across.
    """
    hits: list[float] = []
    for ring in (fragment.outline, *fragment.holes):
        line = [(a - slope * (b - v), b) for a, b in ring] if slope else ring
        for (u0, v0), (u1, v1) in zip(line, (*line[1:], line[0]), strict=True):
            if (u0 <= u) != (u1 <= u):  # an edge counts at its low end only, so that corners are not counted twice
                hits.append(v0 + (v1 - v0) * (u - u0) / (u1 - u0))
    hits.sort()
    return [(a, b) for a, b in zip(hits[::2], hits[1::2], strict=True) if b - a > NEAR]


def fits(low: float, high: float, least: int) -> bool:
    """Whether an interval is at least so wide on whole ticks."""
    return math.floor(high) - math.ceil(low) >= least


def widest(found: list[tuple[float, float]]) -> tuple[int, int] | None:
    """The widest of some intervals, on whole ticks."""
    if not found:
        return None
    low, high = max(found, key=lambda strand: strand[1] - strand[0])
    return math.ceil(low), math.floor(high)


def width_at(fragment: Fragment, u: float) -> tuple[int, int] | None:
    """The fragment's widest interval across at `u`, None where it does not reach."""
    return widest(strands(fragment, u))


def neck(fragment: Fragment, least: int) -> float | None:
    """The width of the narrowest neck of a fragment below `least`, ticks; None where it has none.

    A neck is a stretch along the slat that is narrower all along. A tip that a taper or an arc runs out to a point is
    none: there the width at each backer counts, and how far the tip reaches past it.
    """
    us = sorted({p[0] for ring in (fragment.outline, *fragment.holes) for p in ring})
    found: list[float] = []
    for a, b in pairwise(us):
        if b - a <= STUB:
            continue
        for start, end in zip(strands(fragment, a + 1), strands(fragment, b - 1), strict=False):
            widest = max(start[1] - start[0], end[1] - end[0])
            if widest < least and not _runs_out(fragment, us, a, b):
                found.append(widest)
    return min(found, default=None)


def _runs_out(fragment: Fragment, us: list[int], a: int, b: int) -> bool:
    """Whether the fragment only narrows from between `a` and `b` to one of its ends, and ends in a point there."""
    onward = [a + 1, *(u - 1 for u in us if u >= b)], [b - 1, *(u + 1 for u in reversed(us) if u <= a)]
    for way in onward:
        found = [width_at(fragment, u) for u in way]
        widths = [width[1] - width[0] if width else 0 for width in found]
        narrows = widths[0] > 2 * widths[-1] and all(after <= before + 1 for before, after in pairwise(widths))
        if narrows and widths[-1] <= POINTED:
            return True
    return False
