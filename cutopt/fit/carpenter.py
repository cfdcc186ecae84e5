"""The carpentry's yes or no, remembered by the piece's place on a tile."""

from __future__ import annotations

from dataclasses import dataclass, field

from cutopt.fit.fitting import fit
from cutopt.fit.records import Fit, Refusal
from cutopt.geometry import Ring, from_lowest, half_turned, rectangle
from cutopt.rules import Rules
from cutopt.tile import Tile

ALIKE = 320  # ticks: a tile is symmetric under a half turn if its anatomy is, to a millimetre


@dataclass(frozen=True, kw_only=True)
class Carpenter:
    """Answers for one tile under one set of rules; backers are set to the finest `mark`, ticks.

    `asked` counts the answers that were worked out.
    """

    tile: Tile
    rules: Rules
    mark: int = 320
    _known: dict[tuple[Ring, tuple[Ring, ...]], Fit | Refusal] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        """How many different places were worked out so far."""
        return len(self._known)

    def fit(self, outline: Ring, holes: tuple[Ring, ...] = ()) -> Fit | Refusal:
        """What it takes to make a piece of this ring, in the source's tile frame, or why it cannot be."""
        answer = self._known.get((outline, holes))
        if answer is None:
            answer = self._known[outline, holes] = fit(outline, self.tile, self.rules, holes, self.mark)
        return answer

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
