"""Backers hung parallel to an oblique cut.

    ┌───────────────\\          the cut
    │        \\  \\     \\
    │         \\  \\     \\        the backer, its ends square to its line
    │          \\  \\     \\
    └────────────────────\\
"""

from __future__ import annotations

import math

import shapely

from cutopt.fit.plane import Edge, inward
from cutopt.fit.records import Seat
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, polygons
from cutopt.tile import Backer

LEAST_LEAN = 20 * 320  # ticks: along an edge that leans less over its length a straight backer does as well
MOST_LEAN = 3.0  # an edge that runs this much more along than across the slats crosses too few of them


def leaning_seats(edge: Edge, first: Backer, timber: Timber) -> list[Seat]:
    """Seats along an oblique edge, as far from it as a backer is from a factory edge; ripped ones too."""
    (u0, v0), (u1, v1) = edge
    if abs(u1 - u0) < LEAST_LEAN or abs(u1 - u0) > MOST_LEAN * abs(v1 - v0):
        return []
    back = first.u - first.width // 2
    found = []
    for width in timber.hung_widths:
        found += _along(edge, back + width / 2, width, timber)
    return found


def _along(edge: Edge, off: float, width: int, timber: Timber) -> list[Seat]:
    """The boards of this width whose centre line runs `off` behind the edge, wherever the piece covers them."""
    (u0, v0), (u1, v1) = edge if edge[0][1] < edge[1][1] else (edge[1], edge[0])
    size = math.dist(*edge)
    du, dv = (u1 - u0) / size, (v1 - v0) / size
    way = inward(edge)
    start = (u0 + way * dv * off, v0 - way * du * off)
    seats = []
    first = timber.first
    longest = first.v[1] - first.v[0] - 2  # ticks; no wood is longer than the tile's own
    for low, high in _free(start, (du, dv), width, timber):
        past = max(high - low - longest, 0) / 2
        low, high = low + past, high - past
        ends = [(start[0] + du * t, start[1] + dv * t) for t in (low, high)]
        seat = _seat(ends, width, timber)
        if seat is not None and seat.length >= first.width:
            seats.append(seat)
    return seats


def _free(
    start: tuple[float, float], way: tuple[float, float], width: int, timber: Timber
) -> list[tuple[float, float]]:
    """The intervals along a line, ticks from its start, in which a board keeps its set-back within the piece."""
    far = 2 * (timber.tile.length + timber.tile.width)
    (u, v), (du, dv) = start, way
    half = width / 2
    strip = shapely.Polygon(
        [
            (u + du * t - dv * s * half, v + dv * t + du * s * half)
            for t, s in ((-far, 1), (-far, -1), (far, -1), (far, 1))
        ]
    )
    taken = []
    for part in polygons(strip.difference(timber.set_back)):
        along = [(x - u) * du + (y - v) * dv for x, y in part.exterior.coords]
        taken.append((min(along), max(along)))
    free: list[tuple[float, float]] = []
    at: float = -far
    for low, high in sorted(taken):
        if low - at > NEAR:
            free.append((at, low))
        at = max(at, high)
    return free


def _seat(ends: list[tuple[float, float]], width: int, timber: Timber) -> Seat | None:
    """The seat on whole ticks; `reach` is how far the piece goes on along its centre line."""
    (u0, v0), (u1, v1) = ends
    low, high = math.ceil(v0), math.floor(v1)
    if high - low < NEAR:
        return None
    lean = round((u1 - u0) * (high - low) / (v1 - v0) / 2) * 2
    line = shapely.LineString(
        [(u0 + (u1 - u0) * (v - v0) / (v1 - v0), v) for v in (timber.extent[1] - 1, timber.extent[3] + 1)]
    )
    within = shapely.get_parts(line.intersection(timber.polygon)).tolist()
    mine = [p.bounds for p in within if p.bounds[1] <= (low + high) / 2 <= p.bounds[3]]
    if not mine:
        return None
    reach = (math.ceil(mine[0][1]), math.floor(mine[0][3]))
    u = round((u0 + u1) / 2)
    return Seat(u=u, width=width, span=(low, high), reach=reach, state="open", backer=None, lean=lean)
