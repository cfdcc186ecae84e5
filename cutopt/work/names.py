"""How places on a tile are named so that no one mixes up left and right.

The home corner is chalked on the tile's edges, so its four edges keep their names whichever face is up:

    home end    u = 0        far end     u = length      the ends, where the slats end
    home side   v = 0        far side    v = width       the sides, along a slat
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutopt.geometry import Ring, extent
from cutopt.job.records import Job, SawName
from cutopt.lay.records import Shape, Side
from cutopt.lengths import format_length
from cutopt.tile import Point

Station = Literal["bench", "table saw", "guided saw", "jigsaw", "drill", "brush"]

AXES: dict[Side, int] = {"u0": 0, "u1": 0, "v0": 1, "v1": 1}
SIDES: dict[Side, str] = {"u0": "home end", "u1": "far end", "v0": "home side", "v1": "far side"}
STATIONS: dict[SawName, Station] = {"table_saw": "table saw", "guided_saw": "guided saw", "jigsaw": "jigsaw"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Wording:
    """Lengths and places in the job's words. `source`: the ring of what is cut, the tile or a racked offcut of it."""

    job: Job
    source: Ring

    def length(self, ticks: int, *, unit: bool = True) -> str:
        """A length as the operator reads it, to a tenth of a millimetre or a 64th of an inch."""
        finest = 32 if self.job.show == "mm" else 127
        return format_length(ticks, show=self.job.show, finest=finest, unit=unit)

    def from_end(self, u: int, shape: Shape) -> str:
        """A distance along the slats, from the factory end that the piece has; from its home-most edge if none."""
        size = self.job.tile.length
        low, _, high, _ = extent(shape.outline)
        if low > 0 and high >= size:
            return f"{self.length(size - u)} from the {SIDES['u1']}"
        if low > 0:
            return f"{self.length(u - round(low))} from the piece's sawn edge nearer the {SIDES['u0']}"
        return f"{self.length(u)} from the {SIDES['u0']}"

    def from_side(self, v: int, shape: Shape) -> str:
        """A distance across the slats, from the factory side that the piece has; from its sawn edge if none."""
        distance, side = self._side(v, shape)
        return f"{self.length(distance)} from the {side}"

    def ends(self, span: tuple[int, int], shape: Shape) -> str:
        """Where both ends of a board are, across the slats, the nearer first: "6 and 594 mm from the home side"."""
        (near, side), (far, _) = sorted(self._side(v, shape) for v in span)
        return f"{self.length(near, unit=False)} and {self.length(far)} from the {side}"

    def _side(self, v: int, shape: Shape) -> tuple[int, str]:
        size = self.job.tile.width
        _, low, _, high = extent(shape.outline)
        if low > 0 and high >= size:
            return size - v, SIDES["v1"]
        if low > 0:
            return v - round(low), f"piece's sawn edge nearer the {SIDES['v0']}"
        return v, SIDES["v0"]

    def spot(self, point: Point, shape: Shape) -> str:
        """A place on a piece, along and across."""
        return f"{self.from_end(point[0], shape)} and {self.from_side(point[1], shape)}"

    def mark(self, point: Point) -> str:
        """Where a mark goes before the cuts: along one of the tile's edges, or in from two."""
        tile, (u, v) = self.job.tile, point
        along = self._stepped(u, tile.length, ("u0", "u1"))
        across = self._stepped(v, tile.width, ("v0", "v1"))
        if v in (0, tile.width):
            return f"on the {SIDES['v0' if v == 0 else 'v1']}, {along}"
        if u in (0, tile.length):
            return f"on the {SIDES['u0' if u == 0 else 'u1']}, {across}"
        return f"inside, {along} and {across}"

    def _stepped(self, at: int, size: int, sides: tuple[Side, Side]) -> str:
        """A distance from whichever edge it is a whole number of marks from; from the first if from neither. Of an
        offcut that has one of the two edges, from that one; of one with neither, from the sawn edge nearer the first.
        """
        near, other = (side in self.edges for side in sides)
        if not near and not other:
            low = min(p[AXES[sides[0]]] for p in self.source)
            return f"{self.length(at - low)} from the sawn edge nearer the {SIDES[sides[0]]}"
        far = other and (not near or (at % self.job.mark != 0 and (size - at) % self.job.mark == 0))
        distance, side = (size - at, sides[1]) if far else (at, sides[0])
        return f"{self.length(distance)} from the {SIDES[side]}"

    @property
    def edges(self) -> tuple[Side, ...]:
        """The tile's own edges that the source has."""
        tile, ring = self.job.tile, self.source
        ats: dict[Side, int] = {"u0": 0, "u1": tile.length, "v0": 0, "v1": tile.width}
        return tuple(
            side
            for side, at in ats.items()
            if any(p[AXES[side]] == at == q[AXES[side]] for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True))
        )


def counted(number: int, thing: str) -> str:
    """A number of things: 1 screw, 2 screws."""
    return f"{number} {thing}{'s' * (number != 1)}"


def listed(names: list[str] | tuple[str, ...]) -> str:
    """Names in a row: a, b and c."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
