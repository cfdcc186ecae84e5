"""Where backers of a piece may hang: where they are, shaved beside a cut, or moved up to a cut."""

from __future__ import annotations

import math

from cutopt.fit.records import Seat
from cutopt.fit.timber import Edge, Timber, blocked, free_spans
from cutopt.tile import Backer

STEEP = 1.75  # an edge that runs this much more along than across the slats carries no backer of its own
LEANING = 20 * 320  # ticks: an edge that leans less carries its backer square behind it
OBLIQUE = 50 * 320  # ticks: an edge that leans more than this gets shorter backers behind its longer slats too


def kept_seats(timber: Timber) -> list[Seat]:
    """The tile's own backers as the cuts leave them: in full, sawn flush at an end, or shaved lengthwise."""
    seats: list[Seat] = []
    for backer in timber.tile.backers:
        low, high = backer.u - backer.width // 2, backer.u + backer.width // 2
        spans = free_spans(timber, low, high)
        seats += [_in_place(backer, span) for span in spans if _clip(span, backer.v)]
        if not spans:
            shaved = _shaved(timber, backer)
            seats += [shaved] if shaved else []
    return seats


def _clip(span: tuple[int, int], limits: tuple[int, int]) -> tuple[int, int] | None:
    low, high = max(span[0], limits[0]), min(span[1], limits[1])
    return (low, high) if high - low > 0 else None


def _in_place(backer: Backer, reach: tuple[int, int]) -> Seat:
    span = _clip(reach, backer.v) or reach
    state = "kept" if span == backer.v else "cut"
    return Seat(u=backer.u, width=backer.width, span=span, reach=reach, state=state, backer=backer.id)  # type: ignore[arg-type]


def _shaved(timber: Timber, backer: Backer) -> Seat | None:
    """The backer with the blade along it, if enough width and meat around its holes and screws are left."""
    low, high = backer.u - backer.width // 2, backer.u + backer.width // 2
    cuts = blocked(timber, low, high)
    if len(cuts) != 1 or low < 0 or high > timber.tile.length:
        return None
    u0, v0, u1, v1 = cuts[0]
    if v0 > backer.v[0] or v1 < backer.v[1]:
        return None
    if u1 >= high - 1:  # the cut takes its far side
        high = math.floor(u0)
    elif u0 <= low + 1:
        low = math.ceil(u1)
    else:
        return None
    if high - low < timber.rules.shaved_least or (high - low) % 2:
        high -= (high - low) % 2
    holes = [hole for hole in timber.tile.pin_holes if hole.backer == backer.id]
    meat = all(min(h.at[0] - low, high - h.at[0]) >= h.diameter / 2 + timber.rules.hole_wood for h in holes)
    screwed = min(backer.u - low, high - backer.u) >= timber.rules.kept_screw_edge
    if high - low < timber.rules.shaved_least or not meat or not screwed:
        return None
    return Seat(
        u=(low + high) // 2,
        width=high - low,
        span=backer.v,
        reach=(0, timber.tile.width),
        state="shaved",
        backer=backer.id,
    )


def open_seats(timber: Timber) -> list[Seat]:
    """Places for moved or added backers behind each cut across the slats, as far from it as from a factory edge."""
    first = min(timber.tile.backers, key=lambda b: b.u)
    seats: dict[tuple[int, tuple[int, int]], Seat] = {}
    for edge in timber.sawn:
        for u in _behind(edge, first, timber):
            for reach in free_spans(timber, u - first.width // 2, u + first.width // 2):
                whole = _set_back(reach, first, timber)
                for span in (whole, *_short_spans(edge, whole, timber)):
                    if span[1] - span[0] >= first.width:
                        seat = Seat(u=u, width=first.width, span=span, reach=reach, state="open", backer=None)
                        seats.setdefault((u, span), seat)
    return list(seats.values())


def _short_spans(edge: Edge, whole: tuple[int, int], timber: Timber) -> list[tuple[int, int]]:
    """Short backers behind a notch: under the slats that it cuts and the next whole one, on either side."""
    low, high = sorted((edge[0][1], edge[1][1]))
    slats = sorted(timber.slats, key=lambda slat: slat.v)
    cut = [i for i, slat in enumerate(slats) if slat.v[0] < high and slat.v[1] > low]
    if not cut or abs(edge[1][0] - edge[0][0]) > LEANING:
        return []
    spans = []
    for first, last in ((max(cut[0] - 1, 0), cut[-1]), (cut[0], min(cut[-1] + 1, len(slats) - 1))):
        span = (max(whole[0], slats[first].v[0]), min(whole[1], slats[last].v[1]))
        if span != whole and span[1] > span[0]:
            spans.append(span)
    return spans


def _behind(edge: Edge, first: Backer, timber: Timber) -> list[int]:
    """Centre lines of backers behind a sawn edge: behind the whole of it, and behind the longer slats of a taper."""
    (u0, v0), (u1, v1) = edge
    if abs(u1 - u0) > STEEP * abs(v1 - v0):
        return []
    inward = -1 if v1 > v0 else 1  # anticlockwise: an edge that runs up has the wood on its low-u side
    ends = [u0, u1]
    if abs(u1 - u0) > OBLIQUE:
        low, high = sorted((v0, v1))
        cuts = [v for slat in timber.tile.slats for v in slat.v if low < v < high]
        ends += [round(u0 + (u1 - u0) * (v - v0) / (v1 - v0)) for v in cuts]
    else:
        ends = [min(ends) if inward < 0 else max(ends)]
    usual = [u + inward * first.u for u in dict.fromkeys(ends)]
    return [*usual, *_beside_kept(usual, inward, first, timber), *_flush(edge, inward, first, timber)]


def _flush(edge: Edge, inward: int, first: Backer, timber: Timber) -> list[int]:
    """Behind a taper, right up to the cut at the middle of its shortest slat: the longest slat reaches less far out."""
    (u0, v0), (u1, v1) = edge
    if abs(u1 - u0) < LEANING:
        return []
    short = v0 if u0 * inward > u1 * inward else v1
    middle = min((sum(slat.v) // 2 for slat in timber.slats), key=lambda v: abs(v - short))
    at = u0 + (u1 - u0) * (middle - v0) / (v1 - v0)
    return [round(at) + inward * first.width // 2]


def _beside_kept(usual: list[int], inward: int, first: Backer, timber: Timber) -> list[int]:
    """Where the usual place would lie on a backer that could stay: right beside that one, nearer to the cut."""
    most = first.u - first.width // 2
    beside = [backer.u - inward * (backer.width + first.width) // 2 for backer in timber.tile.backers]
    return [b for u in usual for b in beside if 0 < (b - u) * -inward <= most]


def _set_back(reach: tuple[int, int], first: Backer, timber: Timber) -> tuple[int, int]:
    """A hung backer keeps from every edge across what it has in the uncut tile."""
    return reach[0] + first.v[0], reach[1] - (timber.tile.width - first.v[1])
