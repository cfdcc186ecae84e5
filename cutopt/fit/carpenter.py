"""The carpentry's yes or no, remembered by the piece's place on a tile."""

from __future__ import annotations

from dataclasses import dataclass, field

from cutopt.fit.fitting import fit_in, seen_back
from cutopt.fit.records import Fault, Fit, Refusal
from cutopt.fit.turning import view_of
from cutopt.geometry import Ring, from_lowest, half_turned, rectangle
from cutopt.rules import Rules
from cutopt.tile import Tile

Answered = dict[tuple[Ring, tuple[Ring, ...]], Fit | Refusal]  # by a piece as it was given
Seen = dict[tuple[object, ...], Fit | Fault]  # by a piece as it was worked out

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

    def _answer(self, outline: Ring, holes: tuple[Ring, ...]) -> Fit | Refusal:
        view = view_of(self.tile, outline, holes)
        piece = view.ring(outline), view.rings(holes)
        found = self._seen.get((view.key, *piece))
        if found is None:
            found = self._seen[view.key, *piece] = fit_in(view, self.rules, *piece, self.mark)
        return seen_back(found, view)

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
