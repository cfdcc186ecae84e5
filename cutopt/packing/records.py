"""What comes out of packing: sheets with their rectangles, and the tree of cuts that frees them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

Saw = Literal["", "up", "across"]
Stop = Literal["proven", "limit", "stalled", "interrupted"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Packed:
    """An item where it lies on its sheet: `item` is its place in the list given; lengths as given."""

    item: int
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """A rectangle of a sheet on its way to the items.

    A part is an item (`item` is its place in the list), or is sawn, or is an offcut (`item` None, `saw` "").
    `saw` "up" is a cut along the height: the kerf lies from `at` to `at` + kerf in x; "across" the same in y. `parts`
    are what it leaves: left and right, or lower and upper; the second is missing where the blade takes all of it.
    """

    x: int
    y: int
    width: int
    height: int
    item: int | None = None
    saw: Saw = ""
    at: int = 0
    parts: tuple[Part, ...] = ()

    def leaves(self) -> Iterator[Part]:
        """The parts that are not sawn any further, in the order of the cuts."""
        waiting = [self]
        while waiting:
            part = waiting.pop()
            if not part.saw:
                yield part
            waiting.extend(reversed(part.parts))


@dataclass(frozen=True, kw_only=True, slots=True)
class PackedSheet:
    """One sheet: the rectangles on it, and the whole sheet as a tree of guillotine cuts."""

    rectangles: tuple[Packed, ...]
    cuts: Part


@dataclass(frozen=True, kw_only=True, slots=True)
class Packing:
    """The sheets, and a lower bound on the number of sheets of any packing with guillotine cuts.

    `proven` where the two meet: no packing takes fewer sheets. `stopped` says why the search ended: proven; at
    its limit; stalled, when nothing new was found for long; or interrupted.
    """

    sheets: tuple[PackedSheet, ...]
    lower_bound: int
    stopped: Stop

    @property
    def proven(self) -> bool:
        return len(self.sheets) == self.lower_bound

    @property
    def gap(self) -> float:
        """How many sheets fewer there might be at most, as a share of those taken."""
        return (len(self.sheets) - self.lower_bound) / len(self.sheets)
