"""Where across a piece a board that runs over it has wood under its full width."""

from __future__ import annotations

import math

import shapely

from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, polygons


def blocked(timber: Timber, low: float, high: float) -> list[tuple[float, float, float, float]]:
    """Bounds of what is not the piece's own wood between u = low and u = high, within the tile's width."""
    strip = shapely.box(low, 0, high, timber.tile.width)
    return [part.bounds for part in polygons(strip.difference(timber.polygon))]


def free_spans(timber: Timber, low: float, high: float) -> list[tuple[int, int]]:
    """The intervals across where a board from u = low to u = high has the piece over its full width."""
    if low < 0 or high > timber.tile.length:
        return []
    if timber.rectangular:
        least_u, least_v, most_u, most_v = timber.extent
        return [(least_v, most_v)] if least_u - low <= 2 * NEAR and high - most_u <= 2 * NEAR else []
    taken: list[tuple[float, float]] = []
    # an edge that reaches in by less than what shapely's slivers are dropped for does not count
    near, far = low + 2 * NEAR, high - 2 * NEAR
    for ua, va, ub, vb, slope in timber.rising:
        if ua == ub:
            if near < ua < far:
                taken.append((va, vb) if va < vb else (vb, va))
            continue
        if (ub <= near or ua >= far) if ub - ua > 2 * NEAR else (ub < low or ua > high):
            continue
        v0, v1 = va + (max(ua, low) - ua) * slope, va + (min(ub, high) - ua) * slope
        taken.append((v0, v1) if v0 < v1 else (v1, v0))
    taken.sort()
    spans: list[tuple[int, int]] = []
    middle = (low + high) / 2
    at = taken[0][1] if taken else 0.0
    for start, end in taken[1:]:
        if start - at > NEAR and timber.holds(middle, (at + start) / 2):
            spans.append((math.ceil(at), math.floor(start)))
        at = max(at, end)
    return spans
