"""The tile as made: slats on backers, screws and pin holes. All lengths in ticks (see `cutopt.lengths`).

Tile frame, seen from the walking face: u along the slats, v across them, origin at the home corner.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

Point = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Slat:
    """A board of the walking face: `v` is its interval across, ticks."""

    id: int
    v: tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Backer:
    """A board under the slats: centre line at `u`, `width` along u, `v` its interval across, ticks."""

    id: int
    u: int
    width: int
    v: tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Screw:
    """A screw at the crossing of a slat and a backer; `id` reads slat.backer and a letter: 3.2a."""

    id: str
    slat: int
    backer: int
    at: Point


@dataclass(frozen=True, kw_only=True, slots=True)
class PinHole:
    """A bored hole in a backer that takes a pin of the support below."""

    id: int
    backer: int
    at: Point
    diameter: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Support:
    """The plastic piece under the corners: pad outline, pins at an offset from its centre on both axes."""

    pad: tuple[int, int]
    pin_offset: int
    pin: int
    height: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Tile:
    """The module. `length` runs along u, `width` across; `gauge` is the screw's number.

    The wood of a racked offcut is a tile too, with the hardware that is left of the one that it was `made` as.
    """

    name: str
    length: int
    width: int
    slat_thickness: int
    backer_thickness: int
    density: float
    gauge: int
    support: Support
    slats: tuple[Slat, ...]
    backers: tuple[Backer, ...]
    screws: tuple[Screw, ...]
    pin_holes: tuple[PinHole, ...]
    warnings: tuple[str, ...] = ()
    made: Tile | None = None

    @property
    def design(self) -> Tile:
        """The tile as made: its own measures are the authority for what is cut from it."""
        return self.made or self

    @property
    def screw_diameter(self) -> float:
        """Diameter D in ticks: D = 0.060 + 0.013 N inches (fits each row of NDS 2018 App. L, Table L3)."""
        return (0.060 + 0.013 * self.gauge) * 8128

    @property
    def bored(self) -> tuple[Backer, ...]:
        """The backers with pin holes."""
        holed = {hole.backer for hole in self.pin_holes}
        return tuple(backer for backer in self.backers if backer.id in holed)

    @property
    def hole_inset(self) -> Point:
        """Distance of the home corner's hole from the edges, along and across."""
        holes = self.design.pin_holes
        return min(hole.at[0] for hole in holes), min(hole.at[1] for hole in holes)

    @property
    def longest_bay(self) -> int:
        """The longest distance between the centre lines of neighbouring backers."""
        us = sorted(backer.u for backer in self.design.backers)
        return max(b - a for a, b in itertools.pairwise(us))


@dataclass(frozen=True, kw_only=True, slots=True)
class Offcut:
    """A racked offcut: `outline`, an anticlockwise ring in the frame of the tile that it came from, and its `wood`."""

    id: str
    outline: tuple[Point, ...]
    wood: Tile
