"""How many whole supports the parts that stand in the areas come out of.

whole ──┬── half ──┬── quarter      a whole gives two halves, or a half and two quarters, or four quarters; a trimmed
        │          └── quarter      one comes out of the smallest of these that it lies in
        └── half ── …
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.geometry import NEAR, extent
from cutopt.hang import PlacedSupport


@dataclass(frozen=True, kw_only=True, slots=True)
class Parts:
    """What is sawn out of whole supports, over all copies of all areas.

    `halves` are counted by kind: the halves of a pad that is not square differ by the way it is sawn. `trimmed` counts
    those among them all that are cut smaller still.
    """

    wholes: int
    halves: tuple[int, int]
    quarters: int
    trimmed: int

    @property
    def to_buy(self) -> int:
        """The fewest whole supports that all come out of."""
        return self.wholes + self.to_halve + self.to_quarter

    @property
    def to_halve(self) -> int:
        """Whole supports to saw in two."""
        return sum(math.ceil(count / 2) for count in self.halves)

    @property
    def to_quarter(self) -> int:
        """Whole supports to saw in four: what an odd half leaves gives two quarters before that."""
        return math.ceil(max(self.quarters - 2 * self._odd, 0) / 4)

    @property
    def halves_to_halve(self) -> int:
        """Halves left over that are sawn once more into quarters."""
        return min(self._odd, math.ceil(self.quarters / 2))

    @property
    def _odd(self) -> int:
        return sum(count % 2 for count in self.halves)

    @property
    def words(self) -> str:
        """The count explained: "2 whole, 3 half, 1 quarter: 4 in all, 2 to halve, 1 half to halve again"."""
        sawn = f"{self.wholes} whole, {sum(self.halves)} half, {self.quarters} quarter: {self.to_buy} in all"
        sawn += f", {self.to_halve} to halve" if self.to_halve else ""
        sawn += f", {self.to_quarter} to quarter" if self.to_quarter else ""
        again = self.halves_to_halve
        sawn += f", {again} {'half' if again == 1 else 'halves'} to halve again" if again else ""
        return f"{sawn}, {self.trimmed} trimmed among them" if self.trimmed else sawn


def parts_of(supports: Sequence[PlacedSupport], counts: Sequence[int], pad: tuple[int, int]) -> Parts:
    """The parts by the number of copies of each area; `pad`: a whole support's size, ticks."""
    wholes = quarters = trimmed = 0
    halves = [0, 0]
    for support in supports:
        many, sawn = counts[support.area], _sawn(support)
        trimmed += many * (support.shape == "trimmed")
        if sawn == (True, True):
            quarters += many
        elif sawn == (False, False) or (support.shape == "trimmed" and pad[0] != pad[1]):
            wholes += many  # which way a trimmed one lay on a pad that is not square cannot be told
        else:
            halves[_kind(support, sawn, pad)] += many
    return Parts(wholes=wholes, halves=(halves[0], halves[1]), quarters=quarters, trimmed=trimmed)


def _sawn(support: PlacedSupport) -> tuple[bool, bool]:
    """Whether it lies on one side of its middle, along x and along y."""
    (x0, y0, x1, y1), (x, y) = extent(support.outline), support.at
    return x1 <= x + NEAR or x0 >= x - NEAR, y1 <= y + NEAR or y0 >= y - NEAR


def _kind(support: PlacedSupport, sawn: tuple[bool, bool], pad: tuple[int, int]) -> int:
    """0 for a half as long as the pad's first side, 1 for one as long as its second; always 0 of a square one."""
    x0, y0, x1, y1 = extent(support.outline)
    long = y1 - y0 if sawn[0] else x1 - x0
    return int(abs(long - pad[1]) < abs(long - pad[0]))
