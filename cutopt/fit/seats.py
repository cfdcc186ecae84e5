"""Where backers of a piece may hang: where they are, shaved beside a cut, moved up to a cut, along it, or anywhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import shapely

from cutopt.fit.leaning import leaning_seats
from cutopt.fit.plane import Edge, inward
from cutopt.fit.records import Seat
from cutopt.fit.spans import blocked, free_spans
from cutopt.fit.timber import Timber
from cutopt.tile import Backer

STEEP = 1.75  # an edge that runs this much more along than across the slats carries no straight backer of its own
LEANING = 20 * 320  # ticks: an edge that leans less carries its backer square behind it
OBLIQUE = 50 * 320  # ticks: an edge that leans more than this gets shorter backers behind its longer slats too
# between which u a backer could hold slats that end at an edge, and where short ones across would lie there
Short = tuple[int, int, list[tuple[int, int]]]
Span = tuple[int, int]
ANYWHERE = 10 * 320  # ticks between the places along the slats that are tried where the usual ones do not do


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


def usual_seats(timber: Timber) -> list[Seat]:
    """Places for hung backers behind each cut across the slats, as far from it as from a factory edge, or along it."""
    first = timber.first
    seats: dict[tuple[int, int, Span], Seat] = {}
    for edge in timber.sawn:
        behind = _behind(edge, first, timber)
        for width in timber.hung_widths:
            slip = (first.width - width) // 2  # a ripped one's near edge stays as far from the cut
            for u in behind:
                _add(seats, _seats_at(u - slip * inward(edge), width, (_shortened(edge, timber),), timber))
    leaning = [seat for edge in timber.end_grain for seat in leaning_seats(edge, first, timber)]
    _add(seats, _beside(leaning, first, timber))
    return [*seats.values(), *leaning]


def _beside(leaning: list[Seat], first: Backer, timber: Timber) -> Iterator[tuple[int, int, Span, Span]]:
    """The tile's backers where they are, but ending before a leaning one that would lie across them."""
    off = first.v[0]
    for backer in timber.tile.backers:
        low, high = backer.u - backer.width // 2, backer.u + backer.width // 2
        for reach in free_spans(timber, low, high):
            whole = _set_back(reach, first, timber)
            for lean in leaning:
                across = lean.board.intersection(shapely.box(low, whole[0], high, whole[1]))
                if across.is_empty:
                    continue
                _, v0, _, v1 = across.bounds
                for span in ((whole[0], math.floor(v0) - off), (math.ceil(v1) + off, whole[1])):
                    if span[1] - span[0] >= first.width:
                        yield backer.u, backer.width, span, reach


def all_seats(timber: Timber, *, set_back: bool) -> list[Seat]:
    """Places for straight backers all along the piece, as wide as the tile's or ripped, besides the usual ones.

    `set_back`: they keep as far from every cut as from a factory end.
    """
    first = timber.first
    u0, _, u1, _ = timber.extent
    back = first.u - first.width // 2 if set_back else 0
    edges = [_shortened(edge, timber) for edge in timber.sawn]
    seats: dict[tuple[int, int, Span], Seat] = {}
    for width in timber.hung_widths:
        half = width // 2
        low, high = u0 + back + half, u1 - back - half
        # from both ends, so that a piece and its mirror image are offered the same
        for u in dict.fromkeys((*range(low, high + 1, ANYWHERE), *range(high, low - 1, -ANYWHERE))):
            _add(seats, _seats_at(timber.on_mark(u), width, edges, timber, back))
    return list(seats.values())


def _add(seats: dict[tuple[int, int, Span], Seat], more: Iterable[tuple[int, int, Span, Span]]) -> None:
    """Open seats, each by its place along, its width, its span and its reach; each only once."""
    for u, width, span, reach in more:
        if (u, width, span) not in seats:
            seats[u, width, span] = Seat(u=u, width=width, span=span, reach=reach, state="open", backer=None)


def _seats_at(
    u: int, width: int, edges: Sequence[Short], timber: Timber, back: int = 0
) -> Iterator[tuple[int, int, Span, Span]]:
    """Seats with their centre line at `u`: from edge to edge, and short ones beside each of the sawn `edges`.

    `back`: how far along the slats they stay from every edge.
    """
    first = timber.first
    for reach in free_spans(timber, u - width // 2 - back, u + width // 2 + back):
        whole = _set_back(reach, first, timber)
        if whole[1] - whole[0] < first.width:
            continue
        yield u, width, whole, reach
        for low, high, some in edges:
            if low < u < high:  # a backer there could hold slats that end at the edge
                for a, b in some:
                    span = max(whole[0], a), min(whole[1], b)
                    if span[1] - span[0] >= first.width:
                        yield u, width, span, reach


def _shortened(edge: Edge, timber: Timber) -> Short:
    """Short backers behind a notch: under the slats that it cuts and the next whole one, on either side."""
    end, way = max(edge[0][0], edge[1][0]), inward(edge)
    far = end + way * (timber.overhang + timber.tile.design.backers[0].width)
    low, high = sorted((edge[0][1], edge[1][1]))
    slats = timber.by_v
    cut = [i for i, slat in enumerate(slats) if slat.v[0] < high and slat.v[1] > low]
    spans = []
    if cut and abs(edge[1][0] - edge[0][0]) <= LEANING:
        last_one = len(slats) - 1
        for first, last in ((max(cut[0] - 1, 0), cut[-1]), (cut[0], min(cut[-1] + 1, last_one))):
            spans.append((slats[first].v[0], slats[last].v[1]))
    return min(end, far), max(end, far), spans


def _behind(edge: Edge, first: Backer, timber: Timber) -> list[int]:
    """Centre lines of backers behind a sawn edge: behind the whole of it, and behind the longer slats of a taper."""
    (u0, v0), (u1, v1) = edge
    if abs(u1 - u0) > STEEP * abs(v1 - v0):
        return []
    way = inward(edge)
    ends: list[float] = [u0, u1]
    if abs(u1 - u0) > OBLIQUE:
        low, high = sorted((v0, v1))
        cuts = [v for slat in timber.tile.slats for v in slat.v if low < v < high]
        ends += [u0 + (u1 - u0) * (v - v0) / (v1 - v0) for v in cuts]
    else:
        ends = [min(ends) if way < 0 else max(ends)]
    usual = [_clear(u + way * first.u, way, timber) for u in dict.fromkeys(ends)]
    return [*usual, *_beside_kept(usual, way, first, timber), *_flush(edge, way, first, timber)]


def _clear(u: float, way: int, timber: Timber) -> int:
    """A mark at `u` or next to it on the side away from the cut."""
    mark = timber.on_mark(u)
    return mark if (u - mark) * way <= 0 else mark + way * timber.mark


def _flush(edge: Edge, way: int, first: Backer, timber: Timber) -> list[int]:
    """Behind a taper, as near to the cut as its shortest slat may be screwed: the longest one reaches less far out."""
    (u0, v0), (u1, v1) = edge
    if abs(u1 - u0) < LEANING:
        return []
    short, long = (v0, v1) if u0 * way > u1 * way else (v1, v0)
    outward = 1 if short > long else -1
    slat = min(timber.slats, key=lambda slat: abs(sum(slat.v) // 2 - short))
    past = timber.rules.kept_screw_edge + first.v[0]
    vs = {sum(slat.v) // 2, *(s.at[1] + outward * past for s in timber.tile.design.screws if s.slat == slat.id)}
    ends = [u0 + (u1 - u0) * (v - v0) / (v1 - v0) for v in sorted(vs) if min(v0, v1) < v < max(v0, v1)]
    return [_clear(end + way * first.width // 2, way, timber) for end in ends]


def _beside_kept(usual: list[int], way: int, first: Backer, timber: Timber) -> list[int]:
    """Where the usual place would lie on a backer that could stay: right beside that one, nearer to the cut."""
    most = first.u - first.width // 2
    beside = [backer.u - way * (backer.width + first.width) // 2 for backer in timber.tile.backers]
    return [b for u in usual for b in beside if 0 < (b - u) * -way <= most]


def _set_back(reach: tuple[int, int], first: Backer, timber: Timber) -> tuple[int, int]:
    """A hung backer keeps from every edge across what it has in the uncut tile."""
    return reach[0] + first.v[0], reach[1] - (timber.tile.width - first.v[1])
