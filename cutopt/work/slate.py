"""What every step-writer of one source holds: the source, the names of its parts, and how a step is written down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from cutopt.cut import SawCut
from cutopt.geometry import extent
from cutopt.hang import HungSource, Stretch, Wood
from cutopt.job.records import Job, SawName
from cutopt.lay.records import Piece, Shape
from cutopt.planfile.model import Setup
from cutopt.rules import Rules
from cutopt.tile import Point
from cutopt.work.ids import Ids
from cutopt.work.names import Station, Wording

Do = Literal["mark", "unscrew", "cut", "re-hang", "screw", "drill", "seal", "label", "rack"]
Face = Literal["up", "down"]


def stretch_of(wood: Wood) -> Stretch:
    """The free stretch that a board is cut from."""
    return wood.backer, wood.stretch


@dataclass(frozen=True, kw_only=True, slots=True)
class Draft:
    """A step before it has a number. `late`: it waits for wood that another tile leaves.

    `frees` names the stretch of a backer that the step sets free, by its source; `awaits` one that it needs.
    """

    source: int
    pieces: tuple[int, ...]
    station: Station
    face: Face
    do: Do
    text: str
    minutes: float
    cut: int | None = None
    screws: tuple[str, ...] = ()
    backer: str | None = None
    holes: tuple[Point, ...] = ()
    setup: Setup | None = None
    sum: str = ""
    falls_off: str = ""
    late: bool = False
    frees: tuple[int, Stretch] | None = None
    awaits: tuple[int, Stretch] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Slate:
    """One hung source, number `number`, with everything that its steps are written from."""

    job: Job
    number: int
    source: HungSource
    pieces: Sequence[Piece]
    ids: Ids

    @property
    def say(self) -> Wording:
        """Lengths and places in the job's words."""
        return Wording(job=self.job, source=self.source.tile.outline(self.job.tile))

    def shape(self, place: int) -> Shape:
        """The piece in a place as it lies on the source."""
        return self.source.tile.pattern.places[place].shape

    def where(self, place: int) -> str:
        """Where on the source a piece lies: at the home side and far end, or all over."""
        tile, (u0, v0, u1, v1) = self.job.tile, extent(self.shape(place).outline)
        across = "home side" if v1 < tile.width else "far side" if v0 > 0 else ""
        along = "home end" if u1 < tile.length else "far end" if u0 > 0 else ""
        return " and ".join(name for name in (across, along) if name)

    def piece(self, place: int) -> str:
        """The name of the piece in a place."""
        return self.ids.piece(self.source.tile.pieces[place])

    def place_of(self, number: int) -> str:
        """Where a piece is laid: row and place, counted from the start corner."""
        piece = self.pieces[number]
        area = f"{self.job.areas[piece.area].name}, " if len(self.job.areas) > 1 else ""
        return f"{area}row {piece.row + 1}, place {piece.col + 1}"

    def rate(self, saw: SawName) -> float:
        """Minutes for a cut with a saw."""
        rules = self.job.rules
        rates = {"table_saw": rules.rate_table_saw, "guided_saw": rules.rate_guided_saw, "jigsaw": rules.rate_jigsaw}
        return rates[saw]

    def draft(
        self,
        do: Do,
        station: Station,
        face: Face,
        text: str,
        minutes: float,
        *,
        places: Sequence[int] | None = None,
        **more: Any,  # the rest of a draft's fields, which its record checks
    ) -> Draft:
        """A step of this source, about the pieces in some places or in all."""
        chosen = range(len(self.source.tile.pieces)) if places is None else places
        pieces = tuple(dict.fromkeys(self.source.tile.pieces[p] for p in chosen))
        return Draft(
            source=self.number, pieces=pieces, station=station, face=face, do=do, text=text, minutes=minutes, **more
        )


def face_at(cut: SawCut, rules: Rules) -> Face:
    """Which face is up at a cut: the walking face at the table saw, the backers at the jigsaw and for guided rips."""
    if cut.saw == "guided_saw":
        (_, v0), (_, v1) = cut.path[0], cut.path[-1]
        rip = abs(v1 - v0) <= math.sin(math.radians(rules.end_grain_angle)) * math.dist(cut.path[0], cut.path[-1])
        return "down" if rip else "up"
    return "down" if cut.saw == "jigsaw" else "up"


def chiral(shape: Shape) -> bool:
    """Whether a piece differs from its mirror image however it is turned on the spot by halves."""
    u0, v0, u1, v1 = extent(shape.outline)
    ring = {(u - u0, v - v0) for path in (shape.outline, *shape.holes) for u, v in path}
    wide, high = u1 - u0, v1 - v0
    flipped = {(wide - u, v) for u, v in ring}
    upside = {(u, high - v) for u, v in ring}
    return ring not in (flipped, upside)
