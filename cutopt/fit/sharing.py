"""Sharing: where a rip leaves too little of a slat, the last two slats share what is left in equal widths.

Both come off, the inner one is ripped, both go back with the tile's usual gap between them, and the cut then runs
through the outer one.

         inner     outer              inner   outer
      |########| |########|        |######| |######|
      |########| |#       |   ->   |######| |######|
                  ^ cut                            ^ cut
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cutopt.geometry import NEAR, Ring
from cutopt.rules import Rules
from cutopt.tile import Point, Slat, Tile

STEP = 320  # ticks: slats are ripped to whole millimetres


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """Two slats that share: where they lie then, across, and how far the outer one moves. `width`: of the inner one."""

    inner: Slat
    outer: Slat
    width: int
    moved: int
    whole: tuple[int, int]


def shares(outline: Ring, edges: tuple[tuple[Point, Point], ...], tile: Tile, rules: Rules) -> Iterator[Share]:
    """Ways of sharing at the ripped edges of a piece; `edges` are those that run nearly along the slats.

    The cut must bound the piece from end to end: beside a notch the slats run on, and could not be moved.
    """
    for kept_low in (True, False):
        # anticlockwise: an edge that runs against u has the wood below it
        side = [(a, b) for a, b in edges if abs(b[0] - a[0]) > abs(b[1] - a[1]) and (b[0] < a[0]) == kept_low]
        if not side or not _bound(side, outline, kept_low):
            continue
        low, high = (pick(v for edge in side for _, v in edge) for pick in (min, max))
        slats = sorted(tile.slats, key=lambda s: s.v[0])
        if not kept_low:  # look at the tile from its other side
            low, high = tile.width - high, tile.width - low
            slats = [Slat(id=s.id, v=(tile.width - s.v[1], tile.width - s.v[0])) for s in reversed(slats)]
        found = _share(low, high, slats, rules)
        if found is not None:
            yield found if kept_low else seen_across(found, tile)


def _bound(side: list[tuple[Point, Point]], outline: Ring, kept_low: bool) -> bool:
    """Whether the edges run along all of the piece, and nothing of it lies beyond them."""
    us, vs = [p[0] for p in outline], [p[1] for p in outline]
    edge_vs = [v for edge in side for _, v in edge]
    along = max(us) - min(us) - sum(abs(b[0] - a[0]) for a, b in side) <= NEAR
    return along and (max(vs) <= max(edge_vs) + NEAR if kept_low else min(vs) >= min(edge_vs) - NEAR)


def _share(low: int, high: int, slats: list[Slat], rules: Rules) -> Share | None:
    """Sharing where the kept wood ends between v = low and v = high."""
    number = next((i for i, slat in enumerate(slats) if slat.v[0] < high <= slat.v[1]), 0)
    if number == 0:
        return None
    inner, outer = slats[number - 1], slats[number]
    gap = outer.v[0] - inner.v[1]
    left = (low + high) // 2 - inner.v[0] - gap
    width = round(left / 2 / STEP) * STEP
    start = inner.v[0] + width + gap
    size = outer.v[1] - outer.v[0]
    thin, wide = low - start, high - start
    if width < rules.fragment_normal or thin < rules.fragment_least or wide > size or width >= inner.v[1] - inner.v[0]:
        return None
    return Share(
        inner=Slat(id=inner.id, v=(inner.v[0], inner.v[0] + width)),
        outer=Slat(id=outer.id, v=(start, start + size)),
        width=width,
        moved=start - outer.v[0],
        whole=(inner.v[0], outer.v[1]),
    )


def seen_across(share: Share, tile: Tile) -> Share:
    """Two slats that share, seen in a mirror across the slats."""

    def back(v: tuple[int, int]) -> tuple[int, int]:
        return tile.width - v[1], tile.width - v[0]

    return Share(
        inner=Slat(id=share.inner.id, v=back(share.inner.v)),
        outer=Slat(id=share.outer.id, v=back(share.outer.v)),
        width=share.width,
        moved=-share.moved,
        whole=back(share.whole),
    )
