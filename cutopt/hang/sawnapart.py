"""One stretch of wood sawn into several boards, a kerf apart, each for a seat of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations
from typing import Protocol

from cutopt.fit import Drive, Seat
from cutopt.hang.records import Wood
from cutopt.hang.stretching import stretch
from cutopt.job.records import Job, SawName
from cutopt.tile import Point

CROSSCUT: tuple[SawName, ...] = ("guided_saw", "jigsaw", "table_saw")
MOST_BOARDS = 2  # of one stretch


class Wanting(Protocol):
    """A seat with its screws and where its pin holes go."""

    @property
    def seat(self) -> Seat: ...
    @property
    def drives(self) -> tuple[Drive, ...]: ...
    @property
    def pins(self) -> tuple[Point, ...]: ...


def crosscut_saw(job: Job) -> SawName:
    """What a board alone is sawn to length with: the first of these that is there."""
    saws = job.cutting.saws
    return next((one for one in CROSSCUT if one in saws), saws[0])


def sawn_apart(wanted: Sequence[Wanting], wood: Wood, kerf: int, job: Job) -> tuple[Wood, ...] | None:
    """Boards for these seats out of one stretch, in the order of the seats: the first order of them along it in which
    the old pin holes of each board meet no screw. None where there is none.
    """
    if len(wanted) > MOST_BOARDS:
        return None
    for order in permutations(range(len(wanted))):
        boards = _in_turn([wanted[n] for n in order], wood, kerf, job)
        if boards is not None:
            return tuple(board for _, board in sorted(zip(order, boards, strict=True), key=lambda one: one[0]))
    return None


def _in_turn(wanted: Sequence[Wanting], wood: Wood, kerf: int, job: Job) -> list[Wood] | None:
    """Boards from the home-side end on, the last out of all that is left."""
    (at, end), boards = wood.stretch, []
    for number, one in enumerate(wanted):
        high = end if number == len(wanted) - 1 else at + one.seat.length
        if min(high, end) - at < one.seat.length:
            return None
        part = replace(wood, span=(at, high), stretch=(at, high), sawn_free=True, whole=wood.stretch)
        board = stretch(one.seat, part, one.drives, one.pins, job)
        if board is None:
            return None
        boards.append(board)
        at = high + kerf
    return boards
