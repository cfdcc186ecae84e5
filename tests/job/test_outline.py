"""Rings: crossings, turning round, posts and their places."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutopt.geometry import Ring, area2
from cutopt.job.outline import (
    ROUND_SIDES,
    anticlockwise,
    around_circle,
    crossing_edges,
    near_corners,
    overlap,
    reversed_edge,
    stands_outside,
    turned_rectangle,
)

SQUARE: Ring = ((0, 0), (9000, 0), (9000, 9000), (0, 9000))


@pytest.mark.parametrize(
    ("ring", "edges"),
    [
        (SQUARE, None),
        (((0, 0), (9, 9), (9, 0), (0, 9)), (0, 2)),  # a bow tie
        (((0, 0), (9, 0), (9, 9), (4, 0), (0, 9)), (0, 2)),  # corner 3 on edge 0
        (((0, 0), (9, 0), (4, 0), (4, 9), (0, 9)), (0, 1)),  # back over edge 0
        (((0, 0), (4, 0), (9, 0), (9, 9), (0, 9)), None),  # a corner on a straight side is none
        (((0, 0), (9, 0), (4, 0)), (0, 1)),
        (((0, 0), (5, 0), (9, 5), (9, 9), (7, 9), (5, 5), (3, 9), (0, 9), (0, 4)), None),
    ],
)
def test_crossings(ring: Ring, edges: tuple[int, int] | None) -> None:
    assert crossing_edges(ring) == edges


def test_a_crossing_by_one_tick_is_found() -> None:
    # corner 3 stands one tick beyond the side of 1 km; floats would not see it at every slope
    far = 320_000_000
    assert crossing_edges(((0, 0), (far, 1), (far, far), (far // 2, 0), (0, far))) is not None
    assert crossing_edges(((0, 0), (far, 1), (far, far), (far // 2, 1), (0, far))) is None


def test_near_corners() -> None:
    assert near_corners(SQUARE) is None
    assert near_corners(((0, 0), (9000, 0), (9000, 319), (0, 9000))) == (1, 2)
    assert near_corners(((0, 0), (9000, 0), (9000, 320), (0, 9000))) is None
    assert near_corners((*SQUARE, (0, 100))) == (4, 0)


@given(st.integers(3, 12))
def test_edges_keep_their_ends_when_corners_are_reversed(count: int) -> None:
    old = list(range(count))
    new = old[::-1]
    for edge in range(count):
        moved = reversed_edge(edge, count)
        assert {new[moved], new[(moved + 1) % count]} == {old[edge], old[(edge + 1) % count]}
        assert reversed_edge(moved, count) == edge


def test_turning_round() -> None:
    assert anticlockwise(SQUARE) == SQUARE
    assert anticlockwise(SQUARE[::-1]) == SQUARE
    assert area2(anticlockwise(SQUARE[::-1])) == 2 * 9000 * 9000


@given(st.integers(320, 320_000), st.integers(-(10**6), 10**6), st.integers(-(10**6), 10**6))
def test_a_round_post_lies_inside_its_polygon(diameter: int, x: int, y: int) -> None:
    ring = around_circle((x, y), diameter)
    assert len(ring) == ROUND_SIDES
    for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        cross = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)  # distance from the centre times the side's length
        size2 = (x1 - x0) ** 2 + (y1 - y0) ** 2
        assert cross > 0
        # exact in whole numbers: the side stays a radius away, and no more than two ticks further
        assert 4 * cross * cross >= diameter * diameter * size2
        assert 4 * cross * cross <= (diameter + 4) ** 2 * size2


def test_turned_rectangles() -> None:
    assert turned_rectangle((100, 50), (40, 20), 0) == ((80, 40), (120, 40), (120, 60), (80, 60))
    assert turned_rectangle((100, 50), (40, 20), 90) == ((110, 30), (110, 70), (90, 70), (90, 30))
    # an odd size has its middle on half a tick; the size stays
    ring = turned_rectangle((0, 0), (5, 3), 0)
    assert (ring[1][0] - ring[0][0], ring[2][1] - ring[1][1]) == (5, 3)


#   outline 9000 wide; a post of 2000 touches the side, stands 200 ticks in it, or lies beyond
@pytest.mark.parametrize(("left", "outside"), [(0, False), (7000, False), (7200, True), (-200, True), (20_000, True)])
def test_posts_outside(left: int, outside: bool) -> None:
    post = ((left, 1000), (left + 2000, 1000), (left + 2000, 3000), (left, 3000))
    assert stands_outside(post, SQUARE) is outside


def test_a_post_in_a_re_entrant_corner_is_outside() -> None:
    #   5 .----. 4
    #     |    '----. 2     the post stands in the cut-out, though its corners' box is inside
    #   0 '---------' 1
    ell: Ring = ((0, 0), (9000, 0), (9000, 4000), (4000, 4000), (4000, 9000), (0, 9000))
    assert stands_outside(((5000, 5000), (7000, 5000), (7000, 7000), (5000, 7000)), ell)
    assert not stands_outside(((1000, 1000), (3000, 1000), (3000, 8000), (1000, 8000)), ell)


@pytest.mark.parametrize(("left", "both"), [(0, True), (1000, True), (2000, False), (5000, False)])
def test_overlapping_posts(left: int, both: bool) -> None:
    one: Ring = ((0, 0), (2000, 0), (2000, 2000), (0, 2000))
    other = tuple((x + left, y) for x, y in one)
    assert overlap(one, other) is both
