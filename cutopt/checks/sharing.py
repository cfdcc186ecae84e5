"""Shared slats: the last two before a rip come off, the inner is ripped, both go back, the cut runs through the outer.

         inner     outer                 inner  outer
      |########| |########|           |######| |####|###   the rest of the outer one falls off
                  ^ cut                            ^ cut

Seen so, the piece's kept side is on the left; everything holds as well the other way round.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon, box

from cutopt.checks.evidence import Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import (
    TOLERANCE,
    Spot,
    angle_from_slats,
    common,
    equal,
    exceeds,
    falls_short,
    number,
    polygon,
    polygons,
    ring_edges,
    same,
)
from cutopt.planfile.model import Source, TileSlat

EQUAL_TO = 1.0  # mm: widths are ripped to whole millimetres


@dataclass(frozen=True, kw_only=True, slots=True)
class _Pair:
    """The two slats of a piece that share: `inner` keeps its whole edge where it was, at `edge`; `up` = 1 where the
    outer one lies at higher v, else -1.
    """

    inner: TileSlat
    outer: TileSlat
    edge: float
    up: int

    @property
    def gap(self) -> float:
        """Between the two, as made."""
        return max(self.outer.v[0] - self.inner.v[1], self.inner.v[0] - self.outer.v[1])


def sharing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of slats that share."""
    for placed in evidence.placed:
        if not placed.shared:
            continue
        pair = _pair(placed)
        if pair is None:
            slats = sorted({fragment.slat for fragment in placed.shared})
            text = f"shares slats {slats}; two neighbours are meant, one of them with its outer edge where it was"
            yield fault("shared-slats", placed.where, text)
            continue
        yield from _widths(evidence, placed, pair)
        yield from _off(placed, pair)
        yield from _alone(placed, pair)


def _pair(placed: Placed) -> _Pair | None:
    """Which of two neighbours keeps an edge where it was; the other has moved towards it."""
    numbers = {fragment.slat for fragment in placed.shared}
    slats = sorted(placed.hardware.slats, key=lambda slat: slat.v)
    found = [(place, slat) for place, slat in enumerate(slats) if slat.id in numbers]
    if len(found) != 2 or found[1][0] - found[0][0] != 1 or len(numbers) != 2:
        return None
    (_, low), (_, high) = found
    up, down = same(_reach(placed, low)[0], low.v[0]), same(_reach(placed, high)[1], high.v[1])
    if up is down:
        return None
    return (
        _Pair(inner=low, outer=high, edge=low.v[0], up=1) if up else _Pair(inner=high, outer=low, edge=high.v[1], up=-1)
    )


def lying_shared(evidence: Evidence, source: Source, pieces: Sequence[str]) -> dict[int, Polygon]:
    """Where the slats that share lie, over the whole source, once they are laid back and not yet sawn."""
    found: dict[int, Polygon] = {}
    for placed in evidence.on(source):
        pair = _pair(placed) if placed.piece.id in pieces else None
        if pair is None:
            continue
        low, high = _reach(placed, pair.inner)
        start = pair.edge + pair.up * (high - low + pair.gap)
        end = start + pair.up * (pair.outer.v[1] - pair.outer.v[0])
        found[pair.inner.id] = box(0.0, low, evidence.tile.length, high)
        found[pair.outer.id] = box(0.0, min(start, end), evidence.tile.length, max(start, end))
    return found


def _reach(placed: Placed, slat: TileSlat) -> Spot:
    """From where to where a shared slat lies across, as stated."""
    vs = [v for fragment in placed.shared if fragment.slat == slat.id for _, v in fragment.outline]
    return (min(vs), max(vs)) if vs else (0.0, 0.0)


def _widths(evidence: Evidence, placed: Placed, pair: _Pair) -> Iterator[Fault]:
    """The inner one's width tells where all lies; the outer one takes what is left, no wider than it was made."""
    where, size = placed.where, pair.outer.v[1] - pair.outer.v[0]
    low, high = _reach(placed, pair.inner)
    width = high - low
    if falls_short(width, evidence.limits.fragment_least) or exceeds(width, pair.inner.v[1] - pair.inner.v[0]):
        yield fault("shared-slats", where, f"rips slat {pair.inner.id} to {number(width)}")
    start = pair.edge + pair.up * (width + pair.gap)
    inner = _strip(placed.outline, pair.edge, pair.edge + pair.up * width)
    outer = _strip(placed.outline, start, start + pair.up * size)
    for slat, meant in ((pair.inner, inner), (pair.outer, outer)):
        shapes = [polygon(f.outline) for f in placed.shared if f.slat == slat.id]
        if len(shapes) != len(meant) or not all(any(equal(shape, one) for one in meant) for shape in shapes):
            text = f"slat {slat.id} does not lie where sharing puts it, from {number(pair.edge)} on in v"
            yield fault("shared-slats", where, text)
    bare = sum(one.area for one in _strip(placed.outline, start + pair.up * size, pair.outer.v[pair.up > 0]))
    if bare:
        text = f"slat {pair.outer.id} moves away and leaves {number(bare)} mm2 of the walking face open"
        yield fault("shared-slats", where, text)
        return
    ripped = [abs(v - start) for one in outer for v in _ripped_at(one, start, evidence.limits.end_grain_angle)]
    play = EQUAL_TO + 2 * TOLERANCE  # a taper's widths lie on both sides of an equal one, a notch takes some away
    if not min(ripped, default=0.0) - play <= width <= max(ripped, default=0.0) + play:
        rest = number(max(ripped, default=0.0))
        text = f"slats {pair.inner.id} and {pair.outer.id} are {number(width)} and {rest} wide; equal is meant"
        yield fault("shared-slats", where, text)


def _ripped_at(shape: Polygon, start: float, flat: float) -> list[float]:
    """The v of the ends of the long edges that a cut made: those nearly along the slats and not at `start`."""
    edges = [edge for edge in ring_edges(shape) if angle_from_slats(*edge) <= flat]
    return [v for edge in edges for _, v in edge if not all(same(spot[1], start) for spot in edge)]


def _strip(outline: Polygon, one: float, other: float) -> list[Polygon]:
    """What a piece has between two v."""
    u0, _, u1, _ = outline.bounds
    return polygons(common(outline, box(u0 - 1, min(one, other), u1 + 1, max(one, other))))


def _off(placed: Placed, pair: _Pair) -> Iterator[Fault]:
    """Both slats come off the tile, so none of their screws stays in."""
    for slat in (pair.inner, pair.outer):
        mine = [screw.id for screw in placed.hardware.screws if screw.slat == slat.id]
        held = sorted(set(mine) - set(placed.source.screws_out))
        if held:
            text = f"slat {slat.id} comes off to be shared, and screws {', '.join(held)} still hold it"
            yield fault("shared-slats", placed.where, text)


def _alone(placed: Placed, pair: _Pair) -> Iterator[Fault]:
    """A slat that came off is in no other piece of the source, nor screwed on an offcut."""
    slats = {pair.inner.id, pair.outer.id}
    for fragment in placed.source.slats:
        if fragment.slat in slats and fragment.piece != placed.piece.id:
            text = f"slat {fragment.slat} comes off to be shared, and piece {fragment.piece} has a part of it"
            yield fault("shared-slats", placed.where, text)
    for offcut in (offcut for offcut in placed.source.offcuts if offcut.keep):
        for slat_id in sorted(slats & {slat.id for slat in offcut.slats}):
            text = f"slat {slat_id} comes off to be shared, and racked offcut {offcut.id} lists a part of it"
            yield fault("shared-slats", placed.where, text)
