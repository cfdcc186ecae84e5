"""The carpentry's yes or no, remembered by the piece's place on a tile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice

from cutopt.aside import foreseen
from cutopt.fit.fitting import fit_in, seen_back
from cutopt.fit.records import Fault, Fit, Refusal
from cutopt.fit.turning import View, view_of
from cutopt.geometry import Ring, from_lowest, half_turned, rectangle
from cutopt.rules import Rules
from cutopt.tile import Tile

Answered = dict[tuple[Ring, tuple[Ring, ...]], Fit | Refusal]  # by a piece as it was given
_Sight = tuple[View, Ring, tuple[Ring, ...]]  # a view of a piece, its outline and holes there
Seen = dict[tuple[object, ...], Fit | Fault]  # by a piece as it was worked out


@dataclass(frozen=True, kw_only=True, slots=True)
class Learnt:
    """Answers: by the pieces as they were asked for, and as they were worked out."""

    asked: Answered
    seen: Seen


FITS_ASIDE = 6  # for fewer a process beside this one is not worth its start
ALIKE = 320  # ticks: a tile is symmetric under a half turn if its anatomy is, to a millimetre


@dataclass(frozen=True, kw_only=True)
class Carpenter:
    """Answers for one tile under one set of rules; backers are set to the finest `mark`, ticks.

    Mirror images on a tile that is its own mirror image are worked out once.
    """

    tile: Tile
    rules: Rules
    mark: int = 320
    _known: Answered = field(default_factory=dict)
    _seen: Seen = field(default_factory=dict)
    _others: dict[Tile, Carpenter] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        """How many different places were asked for so far."""
        return len(self._known)

    def fit(self, outline: Ring, holes: tuple[Ring, ...] = ()) -> Fit | Refusal:
        """What it takes to make a piece of this ring, in the source's tile frame, or why it cannot be."""
        answer = self._known.get((outline, holes))
        if answer is None:
            answer = self._known[outline, holes] = self._answer(outline, holes)
        return answer

    def foresee(self, pieces: Sequence[tuple[Ring, tuple[Ring, ...]]]) -> None:
        """Work out what will be asked for, each outline with its holes; many at once, on all processors."""
        new = [piece for piece in pieces if piece not in self._known]
        foreseen(self._seen, dict(self._sight(*piece) for piece in new), self._worked_out, least=FITS_ASIDE)

    @property
    def answers(self) -> tuple[int, int]:
        """How many answers there are: to what was asked, and worked out."""
        return len(self._known), len(self._seen)

    def learnt(self, since: tuple[int, int] = (0, 0)) -> Learnt:
        """The answers after so many."""
        asked, seen = since
        return Learnt(
            asked=dict(islice(self._known.items(), asked, None)), seen=dict(islice(self._seen.items(), seen, None))
        )

    def taught(self, learnt: Learnt) -> None:
        """Take over what a copy of this carpenter has learnt."""
        self._known.update(learnt.asked)
        self._seen.update(learnt.seen)

    def _answer(self, outline: Ring, holes: tuple[Ring, ...]) -> Fit | Refusal:
        key, sight = self._sight(outline, holes)
        if key not in self._seen:
            self._seen[key] = self._worked_out(sight)
        return seen_back(self._seen[key], sight[0])

    def _sight(self, outline: Ring, holes: tuple[Ring, ...]) -> tuple[tuple[object, ...], _Sight]:
        """How a piece is seen, and what its answer is known by: mirror images on mirrored tiles look the same."""
        view = view_of(self.tile, outline, holes)
        ring, inner = view.ring(outline), view.rings(holes)
        return (view.key, ring, inner), (view, ring, inner)

    def _worked_out(self, sight: _Sight) -> Fit | Fault:
        view, ring, inner = sight
        return fit_in(view, self.rules, ring, inner, self.mark)

    def of(self, wood: Tile) -> Carpenter:
        """The one who works on a racked offcut's wood, and remembers what was asked of it."""
        if wood not in self._others:
            self._others[wood] = Carpenter(tile=wood, rules=self.rules, mark=self.mark)
        return self._others[wood]

    @property
    def slats_turn(self) -> bool:
        """Whether the slats lie alike after a half turn."""
        width = self.tile.width
        turned = sorted((width - slat.v[1], width - slat.v[0]) for slat in self.tile.slats)
        return all(
            abs(a - b) <= ALIKE
            for slat, other in zip(sorted(s.v for s in self.tile.slats), turned, strict=True)
            for a, b in zip(slat, other, strict=True)
        )

    def turned(self, ring: Ring) -> Ring:
        """A ring after a half turn of the tile, from its lowest corner as all rings here begin."""
        return from_lowest(half_turned(ring, self.tile.length, self.tile.width))

    @property
    def outline(self) -> Ring:
        """The uncut tile."""
        return rectangle(self.tile.length, self.tile.width)
