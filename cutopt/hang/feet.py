"""Where pieces and whole tiles stand: feet, and the parties of feet that share a support. Layout frame, ticks.

foot    a supported corner: a pin, the support's centre, the quarter that reaches under the wood, the backer above it
party   feet whose pins one support has
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from cutopt.tile import Point, Tile

LIP = 1  # ticks: what rounding may take of the pins' play
SAWN = 5 * 320  # ticks: the saw takes at most this off a half: a kerf, and off the middle; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Face:
    """The outermost corners of a piece's walking face, and how far each may reach past what the piece rests on."""

    corners: tuple[tuple[Point, int], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Foot:
    """A supported corner in the layout frame: the support's centre, its pin, its quarter's way, the backer on it.

    `face` is the one that stands on it, the same record for all feet of a piece; None for a whole tile's.
    """

    centre: Point
    pin: Point
    toward: Point
    turned: bool
    board: shapely.Polygon
    face: Face | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Party:
    """Feet that share a support, its centre and half its pad along x and y, ticks."""

    centre: Point
    half: Point
    offset: int
    feet: tuple[Foot, ...]

    @property
    def pins(self) -> tuple[Point, ...]:
        """The pins that are used."""
        (x, y), off = self.centre, self.offset
        return tuple((x + foot.toward[0] * off, y + foot.toward[1] * off) for foot in self.feet)

    @property
    def pad(self) -> shapely.Polygon:
        """The pad as made."""
        (x, y), (w, h) = self.centre, self.half
        return shapely.box(x - w, y - h, x + w, y + h)

    @property
    def quarters(self) -> shapely.Geometry:
        """The quarters of the pad that have a foot."""
        boxes = [self._quarter(foot.toward) for foot in self.feet]
        if len(boxes) in (1, 4) or self.beside:
            return shapely.box(*(f(at) for f, at in zip((min, min, max, max), zip(*boxes, strict=True), strict=True)))
        return shapely.union_all([shapely.box(*box) for box in boxes])

    @property
    def beside(self) -> bool:
        """Whether two feet are neighbours and not across the support from one another."""
        ways = [foot.toward for foot in self.feet]
        return len(ways) == 2 and (ways[0][0] == ways[1][0]) != (ways[0][1] == ways[1][1])

    def _quarter(self, way: Point) -> tuple[int, int, int, int]:
        """The extent of a quarter."""
        (x, y), (w, h) = self.centre, self.half
        return min(x, x + way[0] * w), min(y, y + way[1] * h), max(x, x + way[0] * w), max(y, y + way[1] * h)

    def sawn(self) -> shapely.Polygon:
        """What is at least left of the quarters when the saw takes its own along the cuts through the middle."""
        x0, y0, x1, y1 = self.quarters.bounds
        take = [min(SAWN, half // 10) for half in self.half]
        at = self.centre
        return shapely.box(
            x0 + take[0] * (x0 == at[0]),
            y0 + take[1] * (y0 == at[1]),
            x1 - take[0] * (x1 == at[0]),
            y1 - take[1] * (y1 == at[1]),
        )


def parties_of(feet: Sequence[Foot], tile: Tile) -> list[Party]:
    """Feet whose pins one support can hold: each in a quarter of its own, all centres within the pins' play."""
    play = (min(hole.diameter for hole in tile.pin_holes) - tile.support.pin) // 2 - LIP
    size = 2 * max(play, 1)
    squares: dict[Point, list[list[Foot]]] = {}
    groups: list[list[Foot]] = []
    for foot in sorted(feet, key=lambda f: (f.centre, f.toward)):
        col, row = foot.centre[0] // size, foot.centre[1] // size
        near = [g for dx in (-1, 0, 1) for dy in (-1, 0, 1) for g in squares.get((col + dx, row + dy), [])]
        for group in near:
            if all(other.toward != foot.toward for other in group) and _within([*group, foot], play):
                group.append(foot)
                break
        else:
            groups.append([foot])
            squares.setdefault((col, row), []).append(groups[-1])
    return [_party(group, tile) for group in groups]


def _middle(group: Sequence[Foot]) -> Point:
    xs, ys = [f.centre[0] for f in group], [f.centre[1] for f in group]
    return (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2


def _within(group: Sequence[Foot], play: int) -> bool:
    if all(foot.centre == group[0].centre for foot in group):
        return True
    middle = _middle(group)
    return all(math.dist(middle, foot.centre) <= max(play, 0) for foot in group)


def _party(group: Sequence[Foot], tile: Tile) -> Party:
    along, across = tile.support.pad[0] // 2, tile.support.pad[1] // 2
    half = (across, along) if all(foot.turned for foot in group) else (along, across)
    return Party(centre=_middle(group), half=half, offset=tile.support.pin_offset, feet=tuple(group))
