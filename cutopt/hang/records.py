"""Sources with their carpentry done. Hardware in the source's tile frame, supports in the layout frame; ticks.

board       a backer as it hangs in a piece, on its seat
wood        the stretch of a source's backer that a board is made of
foot        a supported corner: a pin and the quarter of a support around it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutopt.cut import CutTile
from cutopt.fit import Drive, Fragment, Seat, Stand
from cutopt.geometry import Ring
from cutopt.tile import Point

SupportShape = Literal["whole", "half", "quarter", "trimmed"]
BoardState = Literal["kept", "moved", "shaved", "cut", "added"]
Stretch = tuple[int, tuple[int, int]]  # a backer's number and an interval across


@dataclass(frozen=True, kw_only=True, slots=True)
class Wood:
    """A stretch across of a backer of source number `source`; `sawn_free`: a cut has to free it first.

    `span` is what is hung, cut out of the free `stretch`; `width` is the backer's. `whole`: the free stretch that was
    sawn into this one and another; None where one board alone is made of it, or this one is sawn off first.
    """

    source: int
    backer: int
    width: int
    span: tuple[int, int]
    stretch: tuple[int, int]
    sawn_free: bool
    whole: tuple[int, int] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A backer in place number `place` of its source; `early`: hung before the cuts. `wood`: None for a bought one."""

    name: str
    place: int
    seat: Seat
    state: BoardState
    wood: Wood | None
    early: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Screwed:
    """A screw through `board` into `fragment`."""

    board: int
    fragment: Fragment
    drive: Drive


@dataclass(frozen=True, kw_only=True, slots=True)
class SealedEnd:
    """A sawn end of a slat or backer of a place: a line and the board's thickness."""

    place: int
    line: tuple[Point, Point]
    thickness: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Rest:
    """What is left of a source: part number, ring, and whether it is large and whole enough to be racked."""

    part: int
    outline: Ring
    keep: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class HungSource:
    """One source, `tile.uses` times alike, with all that happens to it. `stands` are by place, screws by id.

    Of `screws_out`, those in `screws_early` come out before the first cut; the others hold wood that is hung elsewhere
    and stay in until the cuts are made, so that nothing loose is sawn.
    """

    tile: CutTile
    boards: tuple[Board, ...]
    screwed: tuple[Screwed, ...]
    stands: tuple[tuple[Stand, ...], ...]
    screws_out: tuple[str, ...]
    screws_early: tuple[str, ...]
    sealed: tuple[SealedEnd, ...]
    rests: tuple[Rest, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedSupport:
    """A support in an area's layout frame with the pins that are used."""

    area: int
    at: Point
    shape: SupportShape
    outline: Ring
    pins: tuple[Point, ...]
