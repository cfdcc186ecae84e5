"""A bound on the tiles of a layout before the carpentry is asked: true shapes, a kerf between, no backers.

A cut may yet slide within its gap, so shapes may overlap by as much as both could yield.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutopt.cut.placing import moved, shifts
from cutopt.cut.records import PieceClass
from cutopt.cut.relaxing import Worth, relaxed
from cutopt.cut.stock import classes_of
from cutopt.cut.together import beside, sets_of
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR
from cutopt.job.records import Cutting
from cutopt.lay.records import Piece, Shape

MOST_SETS = 100_000  # more are not looked at: there is no bound then


@dataclass(frozen=True, kw_only=True, slots=True)
class _Spot:
    """A class somewhere on a tile."""

    kind: int
    shape: Shape


@dataclass(frozen=True, kw_only=True, slots=True)
class Loosely:
    """Pieces, how often each is wanted, what leaving one out costs, tiles, and how far its cuts may slide, ticks."""

    pieces: Sequence[Piece]
    counts: Sequence[int]
    left_out: Sequence[float]
    play: int


def least_tiles(some: Loosely, carpenter: Carpenter, cutting: Cutting) -> float | None:
    """Tiles, and what is left out, that no cut plan of the pieces goes below; None where there are too many sets."""
    kinds = classes_of(some.pieces, some.counts)
    if not kinds:
        return 0.0
    demands = [kind.demand for kind in kinds]
    costs = [min(some.left_out[member] for member in kind.members) for kind in kinds]
    if cutting.strategy == "one-for-one":
        return sum(n * min(1.0, cost) for n, cost in zip(demands, costs, strict=True))
    spots = [spot for number, kind in enumerate(kinds) for spot in _spots(number, kind, carpenter)]
    free = beside([spot.shape for spot in spots], cutting.straight_kerf - NEAR - 2 * some.play)
    sets = sets_of(spots, free, demands, MOST_SETS)
    if not sets.complete:
        return None
    worth = Worth(tile=1.0, places=np.zeros(len(spots)))
    answer = relaxed(sets, demands, worth, left_out=costs)
    return answer.value if answer.exact else None


def _spots(number: int, kind: PieceClass, carpenter: Carpenter) -> list[_Spot]:
    """Where a class may lie, whether or not it can be hung there."""
    return [
        _Spot(kind=number, shape=moved(kind.shape, half_turn, shift, carpenter))
        for half_turn in ((False, True) if carpenter.slats_turn else (False,))
        for shift in shifts(kind, half_turn, carpenter)
    ]
