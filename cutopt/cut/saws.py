"""The saws at hand, and how one through-cut is best made: which saw, along which edge, with nothing loose."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cutopt.cut.holding import Hold
from cutopt.geometry import NEAR, FloatPoint, Rail, chord, clipped, polygon
from cutopt.job.records import Cutting, SawName
from cutopt.lay.records import Side
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

LEAST_CONTACT = 20 * 320  # ticks: a shorter edge does not guide a part along the fence; common practice, no source
LEAST_AT_FENCE = 20 * 320  # ticks: waste narrower than this is not run between fence and blade


@dataclass(frozen=True, kw_only=True, slots=True)
class Saws:
    """The saws at hand, their kerfs in ticks, and how wide the table saw's fence opens."""

    tile: Tile
    rules: Rules
    cutting: Cutting

    def straight(self, length: float) -> SawName | None:
        """The saw for a through-cut of this length without a fence, None where no saw at hand does that."""
        if "guided_saw" in self.cutting.saws:
            return "guided_saw"
        return "jigsaw" if "jigsaw" in self.cutting.saws and length <= self.rules.jigsaw_reach else None

    @property
    def widest(self) -> int:
        """The widest kerf of all saws at hand, ticks."""
        return max(self.cutting.kerf[saw] for saw in self.cutting.saws)

    def inner(self) -> SawName:
        """The saw for notches."""
        return "jigsaw" if "jigsaw" in self.cutting.saws else self.cutting.saws[-1]


@dataclass(frozen=True, kw_only=True, slots=True)
class Fence:
    """A setting of the table saw's fence: from the factory side `side` to the path; whether the kept part is there."""

    distance: int
    side: Side
    kept: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Way:
    """How a through-cut is made. `risk`: slats that nothing holds then, and 1 where loose wood lies at the fence."""

    saw: SawName
    fence: Fence | None
    loose: tuple[int, ...]
    at_fence: bool

    @property
    def risk(self) -> int:
        """How much is wrong with it: 0 for nothing."""
        return len(self.loose) + self.at_fence


def way_of(ring: Sequence[FloatPoint], path: tuple[Point, Point], saws: Saws, hold: Hold | None) -> Way | None:
    """How a through-cut is best made: along the fence with one held part between it and the blade, the kept part if
    it can be; else by another saw, which a slat that no screw holds is clamped down for; at last along the fence with
    the waste outward, whatever is loose. None where no saw at hand can make it.
    """
    start, end = chord(ring, Rail(a=path[0], b=path[1], slack=0)) or path
    clamped = saws.straight(math.dist(start, end))
    fences = list(_fences(ring, path, saws, lone=clamped is None)) if "table_saw" in saws.cutting.saws else []
    held = [fence for fence in fences if hold is None or _held(ring, path, fence, saws, hold)]
    at_fence = False
    pushed = held and not (clamped and _loose(ring, path, saws.cutting.kerf["table_saw"], hold))
    saw: SawName | None = "table_saw" if pushed else clamped
    if saw is None:
        if not fences:
            return None
        saw, at_fence = "table_saw", True
    fence = next(iter([*held, *fences]), None) if saw == "table_saw" else None
    loose = _loose(ring, path, saws.cutting.kerf[saw], hold)
    return Way(saw=saw, fence=fence, loose=loose, at_fence=at_fence)


def _held(ring: Sequence[FloatPoint], path: tuple[Point, Point], fence: Fence, saws: Saws, hold: Hold) -> bool:
    """Whether what lies between the fence and the near side of the blade is one whole."""
    there = Rail(a=path[0], b=path[1], slack=0)
    if not fence.kept:
        there = Rail(a=path[1], b=path[0], slack=0).slid(saws.cutting.kerf["table_saw"])
    region = clipped(ring, there)
    return len(region) < 3 or hold.one_whole(polygon(ring), polygon(region))


def _loose(ring: Sequence[FloatPoint], path: tuple[Point, Point], kerf: int, hold: Hold | None) -> tuple[int, ...]:
    """The slats that the blade crosses and that no screw holds in the part."""
    if hold is None:
        return ()
    back = Rail(a=path[1], b=path[0], slack=0)
    dust = clipped(clipped(ring, back), Rail(a=path[0], b=path[1], slack=0).slid(-kerf))
    return hold.loose(polygon(ring), polygon(dust)) if len(dust) > 2 else ()


def _fences(ring: Sequence[FloatPoint], path: tuple[Point, Point], saws: Saws, *, lone: bool) -> Iterator[Fence]:
    """Settings of the fence within its reach from the part's factory edges, that with the kept part at it first.

    `lone`: no other saw makes the cut, so that a short edge along the fence has to do.
    """
    (u0, v0), (u1, v1) = path
    axis = 0 if u0 == u1 else 1 if v0 == v1 else None
    if axis is None:
        return
    at = path[0][axis]
    kept_low = (v1 > v0) if axis == 0 else (u1 < u0)
    size = (saws.tile.length, saws.tile.width)[axis]
    lows: tuple[Side, Side] = ("u0", "u1") if axis == 0 else ("v0", "v1")
    options = [(at, lows[0], kept_low, 0), (size - at, lows[1], not kept_low, size)]
    for distance, side, kept, where in sorted(options, key=lambda o: not o[2]):
        if not kept and distance < LEAST_AT_FENCE:
            continue
        edge = [p[1 - axis] for p in ring if abs(p[axis] - where) < NEAR]
        contact = max(edge) - min(edge) if len(edge) > 1 else 0.0
        # common practice: a part whose edge on the fence is shorter than the fence is far would twist into the blade
        if contact >= max(LEAST_CONTACT, 0 if lone else distance) - NEAR and distance <= saws.rules.widest_rip:
            yield Fence(distance=distance, side=side, kept=kept)
