"""What a job file says, parsed: all lengths in ticks, every name checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cutopt.rules import Rules
from cutopt.tile import Offcut, Point, Tile

EdgeKind = Literal["wall", "open", "flush", "stone"]
Pattern = Literal["straight", "alternate", "two-and-one"]
Slats = Literal["along", "across", "either"]
Phase = int | Literal["any"]
Strategy = Literal["one-for-one", "factory-edge", "anywhere"]
Aim = Literal["tiles", "cost", "minutes"]
GridRule = Literal["best", "full-first", "centred"]
RoundPosts = Literal["round", "square"]
SawName = Literal["table_saw", "guided_saw", "jigsaw"]

PHASES: Mapping[Pattern, int] = {"straight": 1, "alternate": 2, "two-and-one": 3}  # cells until a pattern repeats


@dataclass(frozen=True, kw_only=True, slots=True)
class Edge:
    """An edge of the outline from its corner to the next; `gap` is (least, most) in ticks."""

    kind: EdgeKind
    gap: tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Post:
    """Something that stands in the area, in the corners' frame.

    `outline` is an anticlockwise ring (a round post as a polygon around its circle). A `drain` is not cut around:
    the tiles over it are laid last and can be lifted. A `low` post is open at the top: a tile is lifted over it.
    """

    name: str
    kind: Literal["post", "drain"]
    outline: tuple[Point, ...]
    round: bool
    gap: tuple[int, int]
    low: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Area:
    """One surface to be laid, `count` times alike. Corners anticlockwise; edge i runs from corner i to i + 1.

    Corners given clockwise in the job are reversed when read, and `edges`, `start` and `way_out`, the edge that the
    crew leaves by, are renumbered with them.
    """

    name: str
    count: int
    corners: tuple[Point, ...]
    edges: tuple[Edge, ...]
    posts: tuple[Post, ...]
    start: int
    way_out: int | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Laying:
    """How the grid lies. `grid` is a rule's name or a fixed (x, y) of the first cell's corner in the layout frame.

    `slats` of a tile that the pattern does not turn, to the start wall; `phase`: which of the pattern's cells comes
    first, counted from 0. "either" and "any" leave them to be chosen.
    """

    pattern: Pattern
    slats: Slats
    joint: int
    pitch: tuple[int, int]
    measured_pitch: bool
    grid: GridRule | Point
    phase: Phase = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Cutting:
    """How tiles are cut: saws at hand with their kerfs in ticks, aim and limit of the search.

    `round_posts`: whether notches around round posts are cut round or square.
    """

    strategy: Strategy
    saws: tuple[SawName, ...]
    kerf: dict[SawName, int]
    aim: Aim
    seconds: float
    round_posts: RoundPosts = "round"

    @property
    def straight_kerf(self) -> int:
        """The widest kerf of the saws that cut straight through, ticks."""
        straight = [self.kerf[saw] for saw in self.saws if saw != "jigsaw"]
        return max(straight, default=max(self.kerf[saw] for saw in self.saws))


@dataclass(frozen=True, kw_only=True, slots=True)
class Money:
    """Prices in `currency`: a tile, an hour of work, a spare backer."""

    tile: float
    hour: float
    backer: float
    currency: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A whole job. `mark` is the finest mark in ticks; `sha256` is of the file's bytes; `rack`: offcuts
    to cut from; `warnings`: what the foreman should know of what was read.
    """

    name: str
    show: Literal["mm", "in"]
    mark: int
    sha256: str
    tile: Tile
    laying: Laying
    cutting: Cutting
    rules: Rules
    money: Money
    areas: tuple[Area, ...]
    rack: tuple[Offcut, ...] = ()
    warnings: tuple[str, ...] = ()
