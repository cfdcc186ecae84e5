"""Bounds under strategy anywhere: what goes together, checked on shapes drawn by hand and under every plan found."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from cutopt.cut import cut, sort_pieces
from cutopt.cut.bounding import fewest_anywhere
from cutopt.cut.companions import fewest_together
from cutopt.cut.records import PieceClass
from cutopt.fit import Carpenter
from cutopt.job.records import Job, Strategy
from cutopt.lay import Piece, Shape
from cutopt.tile import Point
from tests.jobs import room

JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n[cut]\nseconds = 2\n")
CARPENTER = Carpenter(tile=JOB.tile, rules=JOB.rules)
MM = 320
END = 600 * MM


def taper(low: float, high: float, number: int = 0) -> Piece:
    """An end at a wall out of square, `low` mm long at v = 0 and `high` at v = 600."""
    ring: tuple[Point, ...] = ((0, 0), (round(low * MM), 0), (round(high * MM), END), (0, END))
    shape = Shape(outline=ring, chords=((ring[1], ring[2]),), notches=())
    return Piece(
        area=0, row=0, col=number, shape=shape, fixed=frozenset({"u0", "v0", "v1"}), scribe=False, uncertainty=0
    )


def one_class(piece: Piece, count: int = 1) -> PieceClass:
    return PieceClass(shape=piece.shape, fixed=piece.fixed, members=(0,), counts=(count,))


def together(*pieces: Piece, job: Job = JOB) -> int:
    return fewest_together([one_class(piece) for piece in pieces], job, Carpenter(tile=job.tile, rules=job.rules))


#   ┌───────\┬──────┐
#   │   A    \\  A   │   250 and 340 mm long: turned by half, its long side lies beside the other's short one
#   └─────────\\─────┘   250 + 340 + 3.2 · √(600² + 90²) / 600 = 593.3; unturned 340 + 340
def test_two_tapers_go_together_where_one_is_turned() -> None:
    assert together(taper(340, 250), taper(340, 250)) == 1
    first, *others = JOB.tile.slats
    lopsided = replace(JOB.tile, slats=(replace(first, v=(0, 78 * MM)), *others))
    assert together(taper(340, 250), taper(340, 250), job=replace(JOB, tile=lopsided)) == 2


@pytest.mark.parametrize(("high", "tiles"), [(256.7, 1), (256.8, 2)])
def test_two_tapers_go_together_as_long_as_the_kerf_lets_them(high: float, tiles: int) -> None:
    # along the slats the kerf takes 3.2 · √(600² + (340 - high)²) / 600 = 3.23 mm: high <= 600 - 340 - 3.23 = 256.77
    assert together(taper(340, high), taper(340, high)) == tiles


# each of the three goes with no other, though their wood is that of 1.7 tiles
def test_pieces_that_go_with_no_other_take_a_tile_each() -> None:
    assert together(taper(330, 310), taper(340, 305), taper(350, 302)) == 3


# A with B, B with C, C with A, but not all three: two tiles; of the fractions, one and a half
def test_the_wood_of_three_that_go_in_pairs() -> None:
    assert together(taper(290, 280), taper(290, 280), taper(290, 280)) == 2


def test_a_class_is_on_a_tile_as_often_as_it_fits() -> None:
    short = one_class(taper(100, 95), count=10)  # five of them and four kerfs are 500 to 513 mm, six are 600 and more
    assert fewest_together([short], JOB, CARPENTER) == 2


def tiny(length: float, width: float) -> Piece:
    """A piece smaller than any that is hung."""
    u, v = round(length * MM), round(width * MM)
    shape = Shape(outline=((0, 0), (u, 0), (u, v), (0, v)), chords=(), notches=())
    return Piece(area=0, row=0, col=0, shape=shape, fixed=frozenset(), scribe=False, uncertainty=0)


def random_end(dice: random.Random, number: int) -> Piece:
    low = dice.choice([120, 180, 240, 290, 330, 400])
    return taper(low, low + dice.choice([-15, 0, 15, 60]), number)


@pytest.mark.parametrize("seed", range(8))
def test_no_strategy_goes_below_the_bound(seed: int) -> None:
    dice = random.Random(seed)
    pieces = [random_end(dice, number) for number in range(dice.randint(3, 7))]
    counts = [dice.choice([1, 1, 1, 3]) for _ in pieces]
    bounds, tiles = set(), {}
    strategies: tuple[Strategy, ...] = ("one-for-one", "factory-edge", "anywhere")
    for strategy in strategies:
        job = replace(JOB, cutting=replace(JOB.cutting, strategy=strategy))
        stock = sort_pieces(pieces, counts, CARPENTER)
        bounds.add(fewest_anywhere(stock, job))
        tiles[strategy] = cut(stock, job, CARPENTER).count
    (bound,) = bounds
    assert bound <= tiles["anywhere"] <= tiles["factory-edge"] <= tiles["one-for-one"]


def test_a_bound_is_found_where_a_tile_holds_very_many_small_pieces() -> None:
    small = [one_class(strip, count=400) for strip in (tiny(20, 30), tiny(25, 30), tiny(30, 30), tiny(30, 40))]
    assert 0 < fewest_together(small, JOB, CARPENTER) <= 5  # 1200 mm² of each of the largest 400 are 1.3 tiles
