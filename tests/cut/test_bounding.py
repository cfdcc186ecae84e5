"""Bounds under strategy anywhere: what goes together, checked on shapes drawn by hand and under every plan found."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from cutopt.cut import cut, sort_pieces
from cutopt.cut.bounding import fewest_anywhere, least_minutes
from cutopt.cut.companions import fewest_together
from cutopt.cut.patterns import saw_minutes
from cutopt.cut.placing import lies
from cutopt.cut.records import PieceClass
from cutopt.fit import Carpenter
from cutopt.job.records import Aim, Job, Money, Strategy
from cutopt.lay import Piece, Shape
from cutopt.lay.records import Side
from cutopt.tile import Point
from tests.cut.pieces import Slab
from tests.cut.test_cut import random_slab
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


#   ┌──────\      a rip and an oblique end take two cuts wherever the piece lies, an end at a square wall one, and a
#   └───────\     strip from the tile's middle one where it keeps a factory edge, two elsewhere
def test_work_that_no_place_saves() -> None:
    rules = JOB.rules
    ring: tuple[Point, ...] = ((0, 0), (400 * MM, 0), (340 * MM, 300 * MM), (0, 300 * MM))
    both = Shape(outline=ring, chords=((ring[1], ring[2]), ((END, 300 * MM), (0, 300 * MM))), notches=())
    assert least_work(both, frozenset({"u0", "v0"})) == pytest.approx(2 * rules.rate_table_saw)
    middle = Slab(box=(200, 0, 400, 600), fixed=frozenset({"v0", "v1"})).piece(0)
    assert least_work(middle.shape, middle.fixed) == pytest.approx(rules.rate_table_saw)


def least_work(shape: Shape, fixed: frozenset[Side]) -> float:
    """The bound for one piece, which none of its places goes below."""
    kind = PieceClass(shape=shape, fixed=fixed, members=(0,), counts=(1,))
    piece = Piece(area=0, row=0, col=0, shape=shape, fixed=fixed, scribe=False, uncertainty=0)
    least = least_minutes(sort_pieces([piece], [1], CARPENTER), JOB)
    shapes = [moved for _, _, moved in lies(kind, CARPENTER)]
    assert shapes
    assert all(saw_minutes(moved, JOB.rules) >= least - 1e-9 for moved in shapes)
    return least


@pytest.mark.parametrize("aim", ["cost", "minutes"])
@pytest.mark.parametrize("seed", range(4))
def test_by_money_and_minutes_the_bound_is_under_both_strategies(aim: Aim, seed: int) -> None:
    dice = random.Random(seed)
    pieces = [random_slab(dice).piece(number) for number in range(dice.randint(3, 6))]
    values, bounds = [], []
    for strategy in ("anywhere", "factory-edge"):
        money = Money(tile=7.0, hour=50.0, backer=2.0, currency="EUR")
        job = replace(JOB, cutting=replace(JOB.cutting, aim=aim, strategy=strategy), money=money)
        plan = cut(sort_pieces(pieces, [1] * len(pieces), CARPENTER), job, CARPENTER)
        values.append(plan.value)
        bounds.append(plan.least)
    assert 0 < bounds[0] <= min(values) + 1e-6
    assert bounds[1] <= values[1] + 1e-6
