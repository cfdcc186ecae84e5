"""What holds a tile together while it is sawn: slats and backers as they lie then, and the screws that are in.

tie         a screw that is in: it ties a slat to a backer
whole       wood that ties hold together as one; what is loose may tip into the blade or be thrown by it
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import shapely

from cutopt.geometry import polygons
from cutopt.tile import Backer, Point

TOUCH = 10.0  # ticks: a screw this near to a ring's edge is in it


@dataclass(frozen=True, kw_only=True, slots=True)
class Tie:
    """A screw through slat number `slat` into the backer called `board`."""

    at: Point
    slat: int
    board: str


@dataclass(frozen=True, kw_only=True)
class Hold:
    """A tile as it lies at the saw, all in its tile frame, ticks: slats by number, backers by name, and the ties."""

    slats: tuple[tuple[int, shapely.Polygon], ...]
    boards: tuple[tuple[str, shapely.Polygon], ...]
    ties: tuple[Tie, ...]

    def one_whole(self, part: shapely.Polygon, region: shapely.Geometry) -> bool:
        """Whether all wood in a region of the part is tied together there. Backers without a screw in are off."""
        slats = [(slat, shape) for slat, strip in self.slats for shape in _common(region, strip)]
        lying = [(name, shape) for name, stretch in self._screwed(part) for shape in _common(region, stretch)]
        group = list(range(len(slats) + len(lying)))
        for tie, at in self._placed:
            ends = [n for n, (slat, shape) in enumerate(slats) if slat == tie.slat and shape.dwithin(at, TOUCH)]
            ends += [
                n
                for n, (name, shape) in enumerate(lying, start=len(slats))
                if name == tie.board and shape.dwithin(at, TOUCH)
            ]
            for end in ends[1:]:
                old, new = group[end], group[ends[0]]
                group = [new if g == old else g for g in group]
        return len(set(group)) <= 1

    def loose(self, part: shapely.Polygon, dust: shapely.Geometry) -> tuple[int, ...]:
        """The slats that a blade crosses in the part where no screw is in that fragment of them."""
        found = []
        for slat, strip in self.slats:
            if not strip.intersects(dust):
                continue
            mine = [at for tie, at in self._placed if tie.slat == slat]
            for shape in _common(part, strip):
                if _common(shape, dust) and not any(shape.dwithin(at, TOUCH) for at in mine):
                    found.append(slat)
        return tuple(dict.fromkeys(found))

    def _screwed(self, part: shapely.Polygon) -> list[tuple[str, shapely.Polygon]]:
        """The backers' stretches in the part that a screw holds somewhere."""
        return [
            (name, shape)
            for name, board in self.boards
            for shape in _common(part, board)
            if any(tie.board == name and shape.dwithin(at, TOUCH) for tie, at in self._placed)
        ]

    @cached_property
    def _placed(self) -> list[tuple[Tie, shapely.Point]]:
        """The ties, each with the point where it is."""
        points = shapely.points([tie.at for tie in self.ties]) if self.ties else []
        return list(zip(self.ties, points, strict=True))


def board_of(backer: Backer, span: tuple[int, int] | None = None) -> shapely.Polygon:
    """A backer where the tile has it, or the stretch `span` across of it; tile frame, ticks."""
    low, high = span or backer.v
    return shapely.box(backer.u - backer.width / 2, low, backer.u + backer.width / 2, high)


def _common(one: shapely.Geometry, other: shapely.Geometry) -> list[shapely.Polygon]:
    """The wood that two shapes share."""
    return polygons(one.intersection(other))
