"""A post that a single tile would enclose: ways to bring the tile around it, the preferred one first.

    split in a slat gap        split along the backers      notch to an edge, closed by an infill
    ┌───────────────┐          ┌──────┬───────┐             ┌───────────────┐
    │   ┌─────┐     │          │     ┌┴┐      │             │    ┌────┐     │
    ├───┘     └─────┤          │     │▓│      │             │    │▓▓▓▓│     │
    ├───┐  ▓  ┌─────┤          │     └┬┘      │             │    ├────┤     │
    │   └─────┘     │          │      │       │             │    │    │     │
    └───────────────┘          └──────┴───────┘             └────┴────┴─────┘

Halves keep one kerf from each other: in a slat gap half of it to each side of the gap's middle, across the slats all of
it beyond the mark. An infill keeps a joint from the notch that it closes, as tiles do from each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice, pairwise

import shapely

from cutopt.geometry import NEAR, polygon, polygons
from cutopt.lay.ground import Brink, Upright
from cutopt.lay.marking import shape_in
from cutopt.lay.marks import Unmarked, slat_gaps
from cutopt.lay.pieces import BESIDE_POST, SPECK, joined, opened, piece_of, squares, stout, together
from cutopt.lay.plots import Plot, kept_side, shorn, within
from cutopt.lay.records import Chord, Left, Piece, Shape, Way
from cutopt.lay.surveyed import Surveyed
from cutopt.tile import Point

MOST_SPLITS = 2  # lines tried each way
MOST_INFILLS = 2  # edges that a notch is led to
MOST_PART_WAYS = 12  # ways of a half that are looked at
ENCLOSED = "a post stands inside the tile, and no way to bring the tile around it was found"

NO_INFILL = "the piece that closes the notch to the post would be too small"
TOO_NARROW = "too narrow between the post and the tile's side to hold a screw"

Ways = Callable[[Plot, Surveyed], Iterator[Way]]


def around(plot: Plot, area: Surveyed, ways_of: Ways) -> Iterator[Way]:
    """Ways to bring pieces around the first post that a plot encloses; `ways_of` fills plots. Raises `Unmarked`."""
    hole = plot.enclosed[0]
    splits = [*_gaps(hole, area), *_marks(hole, area)]
    refusal: Unmarked | None = None
    for off, way_out in _ways_out(hole, area):
        if off < area.job.rules.fragment_least:  # between the post and this side no wood could be held
            with suppress(Unmarked):
                yield _opened_to(plot, hole, off, way_out, area)
    for number, split in enumerate(splits):
        try:
            yield from islice(_halves(plot, split, area, ways_of), 1 if number else 2)
        except Unmarked as error:
            refusal = refusal or error
    for _, way_out in _ways_out(hole, area)[:MOST_INFILLS]:
        try:
            yield _with_infill(plot, hole, way_out, area)
        except Unmarked as error:
            refusal = refusal or error
    for off, way_out in _ways_out(hole, area)[:MOST_INFILLS]:
        if off < area.job.rules.infill_least:  # the notch is short here, and stays open rather than all of the tile
            with suppress(Unmarked):
                yield _opened_to(plot, hole, off, way_out, area)
    if refusal is None or refusal.rule.startswith("thinnest"):  # a part would be too thin, not the tile
        raise Unmarked("mark", ENCLOSED)
    raise refusal


def elsewhere(plot: Plot, area: Surveyed, ways_of: Ways) -> Iterator[Way]:
    """Ways for where a plot's own ones are barred: a notch led to any side, or the plot split through a post by it.

    The preferred ones first.
    """
    if plot.enclosed:
        hole = plot.enclosed[0]
        for _, way_out in _ways_out(hole, area):
            with suppress(Unmarked):
                yield _with_infill(plot, hole, way_out, area)
    for post in (one for one in plot.uprights if not one.low):
        hole = post.grown(post.gap[0])
        for split in (*_marks(hole, area), *_gaps(hole, area), *_rips(hole, area), *_flush(hole, area)):
            with suppress(Unmarked):
                yield from islice(_halves(plot, split, area, ways_of), 2)


def led_out(plot: Plot, area: Surveyed) -> tuple[Plot, shapely.Geometry] | None:
    """The plot with its notches around turned posts as wide at the tile's side as further in, and what may stay open
    for that; None where that would part it or there are none.

    A notch that follows such a post all round is narrower where it opens than the post is: nothing can go on to it.
    """
    gone = []
    for post in (one for one in plot.uprights if one.turned and not one.low):
        hole = post.grown(post.gap[0])
        off, way_out = _ways_out(hole, area)[0]
        if off > 0 or not shapely.box(0, 0, *area.bench.ring[2]).contains(shapely.Point(post.centre)):
            continue
        try:
            corridor, plot = _corridor(plot, hole, way_out, area)
        except Unmarked:
            return None
        gone.append(corridor.around)
    return (plot, shapely.union_all(gone)) if gone else None


def _gaps(hole: shapely.Polygon, area: Surveyed) -> list[tuple[Chord, Chord]]:
    """Splits in the slat gaps that run through the hole, the nearest to its middle first."""
    tile, kerf = area.job.tile, area.job.cutting.straight_kerf
    _, low, _, high = hole.bounds
    middles = [(start + end) // 2 for start, end in slat_gaps(tile) if end - start >= kerf]
    inside = sorted((abs(2 * v - low - high), v) for v in middles if low < v - kerf and v + kerf < high)
    found = []
    for _, v in inside[:MOST_SPLITS]:
        below = v - kerf // 2
        found.append(_along(below, area))
    return found


def _marks(hole: shapely.Polygon, area: Surveyed) -> list[tuple[Chord, Chord]]:
    """Splits across the slats at a mark by the hole's middle, and where that is in a backer, beside it."""
    kerf, mark = area.job.cutting.straight_kerf, area.job.mark
    low, _, high, _ = hole.bounds
    middle = (low + high) / 2
    clear = area.job.rules.screw_clearance

    screwed = sorted({screw.at[0] for screw in area.job.tile.screws})

    def blocked(u: int) -> bool:
        return any(u - clear < at < u + kerf + clear for at in screwed)

    marks = [k * mark for k in range(math.ceil((low + mark) / mark), math.floor((high - kerf - mark) / mark) + 1)]
    nearest = sorted(marks, key=lambda u: (abs(u - middle), u))
    chosen = nearest[:1]
    if chosen and blocked(chosen[0]):
        chosen += islice((u for u in nearest if not blocked(u)), 1)
    return [_across(u, area) for u in chosen]


def _rips(hole: shapely.Polygon, area: Surveyed) -> list[tuple[Chord, Chord]]:
    """The split along a slat at the mark by the hole's middle, where that is in the tile."""
    mark, (_, low, _, high) = area.job.mark, hole.bounds
    at = round((low + high) / 2 / mark) * mark
    return [_along(at, area)] if mark <= at < area.job.tile.width - mark else []


def _flush(hole: shapely.Polygon, area: Surveyed) -> Iterator[tuple[Chord, Chord]]:
    """Splits along the hole's sides, where those are in the tile: the kerf takes the bottom of the notch."""
    tile, kerf, mark = area.job.tile, area.job.cutting.straight_kerf, area.job.mark
    u0, v0, u1, v1 = hole.bounds
    for low, high, size, split in ((v0, v1, tile.width, _along), (u0, u1, tile.length, _across)):
        if low > kerf:
            yield split(math.floor(low / mark) * mark, area)
        if high < size - kerf:
            yield split(math.ceil((high - kerf) / mark) * mark, area)


def _across(u: int, area: Surveyed) -> tuple[Chord, Chord]:
    """The split across the slats whose kerf begins at a mark."""
    width, end = area.job.tile.width, u + area.job.cutting.straight_kerf
    return ((u, 0), (u, width)), ((end, width), (end, 0))


def _along(v: int, area: Surveyed) -> tuple[Chord, Chord]:
    """The split along the slats whose kerf begins at a mark."""
    length, end = area.job.tile.length, v + area.job.cutting.straight_kerf
    return ((length, v), (0, v)), ((0, end), (length, end))


def _halves(plot: Plot, split: tuple[Chord, Chord], area: Surveyed, ways_of: Ways) -> Iterator[Way]:
    """The plot in two, cut along the split: its first way, then that with narrow fragments dropped."""
    parts = [part for chord in split for part in _beside(plot, chord, area)]
    if not parts:
        raise Unmarked("mark", ENCLOSED)
    some = [ways_of(part, area) for part in parts]
    first = [next(others) for others in some]
    yield _with_mouth(first, plot, area)
    yield _with_mouth([_last(way, others) for way, others in zip(first, some, strict=True)], plot, area)


def _with_mouth(ways: list[Way], plot: Plot, area: Surveyed) -> Way:
    """The halves' ways as one, with what stays open by the post where the cut between them ends there."""
    both = together(ways)
    told = [polygon(x.outline) for x in both.left if x.area2 >= 2 * SPECK]  # a speck may get no word in the end
    known = polygons(plot.spot.local(shapely.union_all(told)))
    mouth = plot.needed.difference(joined(both.pieces, area.strip, known))
    return replace(both, left=(*both.left, *opened(mouth, "post_gap", BESIDE_POST, plot.spot)))


def _last(first: Way, others: Iterator[Way]) -> Way:
    """Of the ways to fill a part, the preferred one and others, the one that changes most."""
    last = first
    with suppress(Unmarked):
        for way in islice(others, MOST_PART_WAYS - 1):
            last = way
    return last


def _beside(plot: Plot, chord: Chord, area: Surveyed) -> list[Plot]:
    """The plot's parts on the kept side of a chord, each to be covered."""
    side = kept_side(chord, 4 * max(area.cell_size))
    bases = [] if plot.base is plot.region else polygons(shorn(plot.base.intersection(side)))
    found = []
    for region in polygons(shorn(plot.region.intersection(side))):
        must = within(plot.needed.intersection(side), region)
        if polygons(must):
            base = max(bases, key=lambda b: b.intersection(region).area) if bases else region
            found.append(replace(plot, region=region, base=base, needed=must, chords=(*plot.chords, chord)))
    return found


def _ways_out(hole: shapely.Polygon, area: Surveyed) -> list[tuple[float, tuple[int, int]]]:
    """Distances and unit vectors from a hole to the tile's sides, the nearest side first."""
    tile = area.job.tile
    u0, v0, u1, v1 = hole.bounds
    off = [(u0, (-1, 0)), (v0, (0, -1)), (tile.length - u1, (1, 0)), (tile.width - v1, (0, 1))]
    return sorted(off)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Corridor:
    """The way from a post to a side of the tile, as wide as the post with its least gap."""

    way: tuple[int, int]
    ground: shapely.Polygon
    post: Upright

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The extent of the post with its least gap."""
        u0, v0, u1, v1 = self.post.grown(self.post.gap[0]).bounds
        return u0, v0, u1, v1

    @property
    def around(self) -> shapely.Polygon:
        """What stays open for it, up to the most gap."""
        return self.ground.buffer(self.post.gap[1] - self.post.gap[0], join_style="mitre")

    @property
    def brinks(self) -> tuple[Brink, ...]:
        """Its long sides, kept wood on the left."""
        least, most = self.post.gap
        ring = shapely.geometry.polygon.orient(self.ground, -1.0).exterior.coords
        return tuple(Brink(a=a, b=b, slack=most - least, least=least) for a, b in pairwise(ring))


def _corridor(plot: Plot, hole: shapely.Polygon, way: tuple[int, int], area: Surveyed) -> tuple[_Corridor, Plot]:
    """The way from a hole to a side, and the plot without it. Raises `Unmarked`."""
    post = next((one for one in plot.uprights if hole.contains(one.outline)), None)
    reach = sum(area.cell_size)
    moved = shapely.affinity.translate(hole, way[0] * reach, way[1] * reach)
    ground = shapely.union_all([hole, moved]).convex_hull
    regions = polygons(shorn(plot.region.difference(ground)))
    if post is None or len(regions) != 1:
        raise Unmarked("mark", ENCLOSED)  # posts that stand together, or a notch that would part the tile
    corridor = _Corridor(way=way, ground=ground, post=post)
    bases = [plot.base] if post.round_cut else polygons(shorn(plot.base.difference(ground)))
    opened_plot = replace(
        plot,
        region=regions[0],
        base=max(bases, key=lambda b: b.intersection(regions[0]).area),
        needed=plot.needed.difference(corridor.around),
        brinks=(*plot.brinks, *corridor.brinks),
        way_out=way if post.round_cut else None,
    )
    return corridor, opened_plot


def _only(plot: Plot) -> Plot:
    """The plot, in which nothing stands inside any more. Raises `Unmarked`."""
    if plot.enclosed:
        raise Unmarked("mark", "more than one post stands inside the tile")
    return plot


def _opened_to(plot: Plot, hole: shapely.Polygon, off: float, way: tuple[int, int], area: Surveyed) -> Way:
    """A piece notched to a side `off` ticks away, and the notch left open: nothing could close it. Raises `Unmarked`.

    The side is so near to the post that no wood is held there, or too near for an infill.
    """
    _, open_plot = _corridor(plot, hole, way, area)
    shape = shape_in(_only(open_plot), area.bench)
    stout(shape, area)
    bare = plot.needed.difference(polygon(shape.outline).buffer(NEAR))
    least = area.job.rules.infill_least
    close = shapely.union_all([shapely.box(*one.grown(one.gap[0]).bounds) for one in plot.uprights])
    if polygons(bare.difference(close).buffer(-least / 2, join_style="mitre")):
        raise Unmarked("infill_least", "posts that stand together leave room for a piece between them")
    rule, why = ("fragment_least", TOO_NARROW) if off < area.job.rules.fragment_least else ("infill_least", NO_INFILL)
    return Way(pieces=(piece_of(shape, open_plot, area),), left=opened(bare, rule, why, plot.spot))


def _with_infill(plot: Plot, hole: shapely.Polygon, way: tuple[int, int], area: Surveyed) -> Way:
    """A piece notched to an edge, and an infill that closes the notch between the edge and the post.

    Raises `Unmarked`.
    """
    corridor, open_plot = _corridor(plot, hole, way, area)
    shape = shape_in(_only(open_plot), area.bench)
    stout(shape, area)
    infill = _infill(shape, corridor, plot, area)
    pieces = (piece_of(shape, open_plot, area), piece_of(infill, plot, area))
    return Way(pieces=pieces, left=_between(pieces, plot, area))


def _infill(shape: Shape, corridor: _Corridor, plot: Plot, area: Surveyed) -> Shape:
    """The infill of a notch: a joint from the notch's legs, along them where they lean, as near to the post as its gap
    lets it.

    Raises `Unmarked`.
    """
    axis = 0 if corridor.way[0] else 1  # the way's axis
    size = area.bench.ring[2]
    low_end = corridor.way[axis] < 0
    side = 0 if low_end else size[axis]
    mark, joint = area.job.mark, area.job.laying.joint
    apart = min(math.ceil(joint / mark) * mark, max(area.strip // mark * mark, joint))
    bounds = corridor.bounds
    end = int(bounds[axis] // mark * mark if low_end else side - (side - bounds[axis + 2]) // mark * mark)
    span = sorted((side, end))
    near, far = _legs(shape, corridor, axis, (side, end))
    low = [math.ceil(near[at] / mark) * mark + apart for at in span]
    high = [math.floor(far[at] / mark) * mark - apart for at in span]
    if min(high[0] - low[0], high[1] - low[1], span[1] - span[0]) < area.job.rules.infill_least:
        raise Unmarked("infill_least", NO_INFILL)
    corners = [(span[0], low[0]), (span[1], low[1]), (span[1], high[1]), (span[0], high[0])]
    outline = tuple(corners) if axis == 0 else tuple((x, at) for at, x in (corners[0], *corners[:0:-1]))
    if not plot.region.buffer(NEAR).contains(polygon(outline)):
        raise Unmarked("mark", "a wall runs through the piece that would close the notch to the post")
    edges = zip(outline, (*outline[1:], *outline[:1]), strict=True)
    chords = (_through(a, b, size) for a, b in edges)
    return Shape(outline=outline, chords=tuple(chord for chord in chords if chord is not None), notches=())


def _through(a: Point, b: Point, size: Point) -> Chord | None:
    """The cut along an edge: right across the tile where it is square to it; None where it is the tile's own side."""
    for axis in (0, 1):
        if a[axis] == b[axis]:
            if a[axis] in (0, size[axis]):
                return None
            ends = (0, size[1 - axis]) if a[1 - axis] < b[1 - axis] else (size[1 - axis], 0)
            return ((a[0], ends[0]), (a[0], ends[1])) if axis == 0 else ((ends[0], a[1]), (ends[1], a[1]))
    return a, b


def _legs(
    shape: Shape, corridor: _Corridor, axis: int, span: tuple[int, int]
) -> tuple[dict[int, float], dict[int, float]]:
    """Where the notch's two legs are at the tile's side, `span[0]`, and as far in as the infill reaches. Raises
    `Unmarked` where they do not begin at that side.
    """
    middle = corridor.post.centre[1 - axis]
    legs = [leg for notch in shape.notches for leg in (notch.path[:2], notch.path[:-3:-1]) if leg[0][axis] == span[0]]
    low = [leg for leg in legs if leg[0][1 - axis] < middle]
    high = [leg for leg in legs if leg[0][1 - axis] > middle]
    if not low or not high:
        raise Unmarked("mark", ENCLOSED)
    return (
        {at: max(_leg_at(leg, axis, at) for leg in low) for at in span},
        {at: min(_leg_at(leg, axis, at) for leg in high) for at in span},
    )


def _leg_at(leg: Sequence[Point], axis: int, at: int) -> float:
    """Where a leg is, across its way, so far along it, or at its end where it does not reach so far."""
    (a, b), (c, d) = ((p[axis], p[1 - axis]) for p in leg)
    share = min((at - a) / (c - a), 1.0) if c != a else 1.0
    return b + share * (d - b)


def _between(pieces: tuple[Piece, ...], plot: Plot, area: Surveyed) -> tuple[Left, ...]:
    """What stays open around an infill that is wider than a joint: beside a round or turned post. Raises `Unmarked`
    where that is more than straight sides leave around one.
    """
    left = plot.needed.difference(joined(pieces, area.strip))
    drop, play = area.job.rules.dropped_gap, max(one.gap[1] - one.gap[0] for one in plot.uprights) / 2
    for part in polygons(shorn(left)):
        fine = part.buffer(-play, join_style="mitre").is_empty
        straight = [one for one in plot.uprights if not (fine or one.turned or one.round_cut)]
        others = [one for one in plot.uprights if one not in straight]
        if part.difference(squares(straight, 0)).difference(squares(others, drop)).area >= SPECK:
            raise Unmarked("mark", ENCLOSED)
    return opened(left, "post_gap", BESIDE_POST, plot.spot)
