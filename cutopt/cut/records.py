"""The cut plan: which pieces come from which tile, and how it is sawn. All in the source's tile frame, ticks.

class       pieces of equal shape and equal fixed sides; any may stand for another
place       a class at a turn and shift on a tile, with its fit
pattern     places that one tile holds together
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from cutopt.fit import Fit
from cutopt.geometry import Ring, rectangle
from cutopt.job.records import Job, SawName
from cutopt.lay.records import Chord, Shape, Side
from cutopt.tile import Offcut, Point, Slat, Tile


@dataclass(frozen=True, kw_only=True, slots=True)
class PieceClass:
    """Interchangeable pieces: `members` are their numbers, `counts` how many of each the job wants."""

    shape: Shape
    fixed: frozenset[Side]
    members: tuple[int, ...]
    counts: tuple[int, ...]

    @property
    def demand(self) -> int:
        """How many in all."""
        return sum(self.counts)


@dataclass(frozen=True, kw_only=True)
class Place:
    """A class on a tile: a point p lands at shift + p, or at shift + (length, width) - p after a half turn.

    `source`: 0 for a new tile, n for the nth racked offcut, in the frame of the tile that it came from.
    """

    kind: int
    half_turn: bool
    shift: Point
    shape: Shape
    fit: Fit
    source: int = 0


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """Places on one tile. `needs` and `had`: lengths of backers wanted from and left for elsewhere, longest first."""

    places: tuple[Place, ...]
    needs: tuple[int, ...]
    had: tuple[int, ...]
    minutes: float

    @property
    def source(self) -> int:
        """What it is cut from: 0 for a new tile, n for the nth racked offcut."""
        return self.places[0].source

    @cached_property
    def kinds(self) -> tuple[int, ...]:
        """The classes it makes, sorted."""
        return tuple(sorted(place.kind for place in self.places))

    @cached_property
    def kept(self) -> frozenset[int]:
        """The tile's backers that stay in a piece, whole or in part."""
        return frozenset(backer for place in self.places for backer in place.fit.kept)

    @cached_property
    def shared(self) -> dict[int, Slat]:
        """The slats that come off and share what a cut leaves of them, by number, as they are laid back."""
        shares = [place.fit.share for place in self.places if place.fit.share]
        return {slat.id: slat for share in shares for slat in (share.inner, share.outer)}


@dataclass(frozen=True, kw_only=True, slots=True)
class SawCut:
    """One part becomes two: the part on the left of `path` is kept for place number `place`.

    Parts are numbered from 0, the whole source; `right` is None where the blade leaves only dust. A square cut has a
    fence distance, from the factory side `datum` to the near side of the kerf; `size` is the part's extent from there.
    A `closed` path is a clockwise ring: what is kept lies around it. `centre` and `radius` are those of the arc that a
    round notch follows. `prepared`: the stretches of a notch's longer legs that a guided saw cuts first, each stopping
    short of inside corners. `loose`: slats that the blade crosses and that no screw holds then; `loose_at_fence`: what
    lies between fence and blade is not one whole, and no other saw is at hand.
    """

    part: int
    left: int
    right: int | None
    place: int
    saw: SawName
    kerf: int
    path: Ring
    fence: int | None
    datum: Side | None
    size: int | None
    kept_at_fence: bool
    closed: bool = False
    centre: Point | None = None
    radius: int | None = None
    prepared: tuple[Chord, ...] = ()
    loose: tuple[int, ...] = ()
    loose_at_fence: bool = False

    @property
    def bent(self) -> bool:
        """Whether it is a notch's: all others are straight through-cuts."""
        return len(self.path) > 2


@dataclass(frozen=True, kw_only=True, slots=True)
class SawTree:
    """The cuts in order, the part that each place ends as, and what is left over with its ring."""

    cuts: tuple[SawCut, ...]
    finished: tuple[int, ...]
    rests: tuple[tuple[int, Ring], ...]

    def out_of_notch(self, part: int) -> int | None:
        """The cut by number, from 0, of the notch whose waste a part is of; None where it is of none."""
        made = {half: n for n, cut in enumerate(self.cuts) for half in (cut.left, cut.right)}
        while part:  # 0 is the source
            cut = self.cuts[made[part]]
            if cut.bent and cut.right == part:
                return made[part]
            part = cut.part
        return None


@dataclass(frozen=True, kw_only=True, slots=True)
class CutTile:
    """A tile that is cut, `uses` times alike, or a racked offcut; `pieces` are numbers, one a place of the pattern."""

    pattern: Pattern
    tree: SawTree
    pieces: tuple[int, ...]
    uses: int
    offcut: Offcut | None = None

    def at_bench(self, job: Job) -> Job:
        """The job as one sees it who works on this tile: with the wood that it has."""
        return job if self.offcut is None else replace(job, tile=self.offcut.wood)

    def outline(self, tile: Tile) -> Ring:
        """The source before it is cut."""
        return rectangle(tile.length, tile.width) if self.offcut is None else self.offcut.outline


@dataclass(frozen=True, kw_only=True, slots=True)
class CutPlan:
    """The answer: what is cut, the bound of the same model on the number of tiles, and backers to be bought.

    `value` and `least`: what the plan takes by the job's aim (tiles, money or minutes), and the bound on it.
    """

    tiles: tuple[CutTile, ...]
    bound: int
    spare_backers: int
    value: float
    least: float

    @property
    def count(self) -> int:
        """Tiles that are cut, all copies counted; racked offcuts are not."""
        return sum(tile.uses for tile in self.tiles if tile.offcut is None)
