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

Edge = tuple[Point, Point]
STEP = 320  # ticks: slats are ripped to whole millimetres


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """Two slats that share: where they lie then, across, and how far the outer one moves. `width`: of the inner one."""

    inner: Slat
    outer: Slat
    width: int
    moved: int
    whole: tuple[int, int]


def shares(outline: Ring, edges: tuple[Edge, ...], tile: Tile, rules: Rules) -> Iterator[Share]:
    """Ways of sharing at the ripped edges of a piece; `edges` are those that run nearly along the slats.

    The cut must bound both slats from end to end: beside a notch they run on, and could not be moved.
    """
    for kept_low in (True, False):
        # anticlockwise: an edge that runs against u has the wood below it
        side = [(a, b) for a, b in edges if abs(b[0] - a[0]) > abs(b[1] - a[1]) and (b[0] < a[0]) == kept_low]
        if not side:
            continue
        low, high = (pick(v for edge in side for _, v in edge) for pick in (min, max))
        slats = sorted(tile.slats, key=lambda s: s.v[0])
        if not kept_low:  # look at the tile from its other side
            low, high = tile.width - high, tile.width - low
            slats = [Slat(id=s.id, v=(tile.width - s.v[1], tile.width - s.v[0])) for s in reversed(slats)]
        found = _share(low, high, slats, rules)
        if found is None:
            continue
        share = found if kept_low else seen_across(found, tile)
        if _bound(side, outline, share.whole, kept_low=kept_low):
            yield share


def _bound(side: list[Edge], outline: Ring, whole: tuple[int, int], *, kept_low: bool) -> bool:
    """Whether the two slats, `whole` across, end at these edges alone along the piece, and at its ends at such as cross
    both of them, straight or oblique.
    """

    def outward(v: int) -> int:
        """From the whole edge of the inner slat towards the cut."""
        return v - whole[0] if kept_low else whole[1] - v

    edges = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    if any(edge not in edges for edge in side):  # a hole's
        return False
    cut = [outward(v) for edge in side for _, v in edge]
    for edge in edges:
        near, far = sorted(outward(v) for _, v in edge)
        crosses = near <= NEAR and min(cut) - NEAR <= far <= max(cut) + NEAR
        if edge not in side and far > NEAR and not crosses:
            return False
    return True


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
