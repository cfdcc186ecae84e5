"""A stretch of a leftover backer sawn in two: what comes of it fits, a kerf apart, and no old hole meets a screw."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as st

from cutopt.fit import Drive, Seat
from cutopt.hang import Wood
from cutopt.hang.sawnapart import sawn_apart
from cutopt.hang.stretching import holes_in
from cutopt.tile import Point
from tests.plans import job_named

MM = 320
KERF = 4 * MM
JOB = job_named("demo")
BORED = JOB.tile.design.bored[0]
PLAIN = next(b for b in JOB.tile.design.backers if b not in JOB.tile.design.bored)


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    seat: Seat
    drives: tuple[Drive, ...] = ()
    pins: tuple[Point, ...] = ()


def seat_of(length: int) -> Seat:
    span = 10 * MM, 10 * MM + length
    return Seat(u=200 * MM, width=BORED.width, span=span, reach=span, state="open", backer=None)


def wood_of(backer: int, low: int, high: int) -> Wood:
    return Wood(source=0, backer=backer, width=BORED.width, span=(low, high), stretch=(low, high), sawn_free=False)


sizes = st.integers(min_value=60, max_value=400).map(lambda n: n * MM)


@settings(deadline=None)
@given(sizes, sizes, sizes, st.booleans())
def test_two_boards_come_of_a_stretch_that_has_both_and_a_kerf(one: int, other: int, room: int, exact: bool) -> None:
    low = PLAIN.v[0]
    high = low + (one + other + KERF if exact else room)
    boards = sawn_apart(
        [Wanted(seat=seat_of(one)), Wanted(seat=seat_of(other))], wood_of(PLAIN.id, low, high), KERF, JOB
    )
    assert (boards is not None) is (one + other + KERF <= high - low)
    if boards is not None:
        (a, b), (c, d) = sorted(board.span for board in boards)
        assert low <= a < b
        assert b + KERF <= c
        assert c < d <= high
        lengths = [board.span[1] - board.span[0] for board in boards]
        assert all(0 <= got - want < MM for got, want in zip(lengths, (one, other), strict=True))  # under 1 mm is left
        assert {board.whole for board in boards} == {(low, high)}


def test_boards_change_places_where_a_hole_would_meet_a_screw() -> None:
    """The bored end of the wood goes to the seat that has no screw where its hole would come."""
    low, high = BORED.v
    hole = min(h.at[1] for h in JOB.tile.design.pin_holes if h.backer == BORED.id)
    seat, length = seat_of(250 * MM), 250 * MM
    spot = (seat.u + min(h.at[0] for h in JOB.tile.design.pin_holes if h.backer == BORED.id) - BORED.u, seat.span[0])
    first = Wanted(seat=seat, drives=(Drive(fragment=0, at=(spot[0], spot[1] + hole - low), screw=None),))
    second = Wanted(seat=seat)
    boards = sawn_apart([first, second], wood_of(BORED.id, low, high), KERF, JOB)
    assert boards is not None
    assert boards[1].span == (low, low + length)
    for hole_there in holes_in(seat, boards[0], JOB.tile):
        assert math.dist(hole_there.at, first.drives[0].at) >= JOB.rules.screw_hole_clear


def test_a_third_board_is_not_sawn_of_it() -> None:
    wanted = [Wanted(seat=seat_of(80 * MM))] * 3
    assert sawn_apart(wanted, wood_of(PLAIN.id, *PLAIN.v), KERF, JOB) is None
