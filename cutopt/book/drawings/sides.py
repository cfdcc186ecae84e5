"""The words for a tile's sides, as the steps have them, and from which of them a place on a piece is measured.

The home corner is chalked on the tile's edges, so the names hold whichever face is up: the slats end at the two ends,
the two sides run along a slat.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from cutopt.book.drawings.drawing import Box
from cutopt.book.drawings.rings import NEAR

Side = Literal["u0", "u1", "v0", "v1"]

SIDE_NAMES: Mapping[Side, str] = MappingProxyType(
    {"u0": "home end", "u1": "far end", "v0": "home side", "v1": "far side"}
)
_AXES: tuple[tuple[Side, Side], tuple[Side, Side]] = (("u0", "u1"), ("v0", "v1"))


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """A distance in mm, the coordinate it starts at, and what lies there in words."""

    distance: float
    start: float
    datum: str


def reading(at: float, axis: int, piece: Box, size: float) -> Reading:
    """Where a place on a piece is measured from: its factory end or side, a sawn edge where it has none.

    `at` is a coordinate along `axis` (0 for u, 1 for v) of the tile frame, `piece` the piece's box there, `size` the
    tile's length or width. The home end or side comes first where the piece has both.
    """
    low, high = piece[axis], piece[axis + 2]
    home, far = _AXES[axis]
    if low <= NEAR:
        return Reading(distance=at, start=0.0, datum=SIDE_NAMES[home])
    if high >= size - NEAR:
        return Reading(distance=size - at, start=size, datum=SIDE_NAMES[far])
    return Reading(distance=at - low, start=low, datum=f"piece's sawn edge nearer the {SIDE_NAMES[home]}")
