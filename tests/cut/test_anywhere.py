"""Strategy anywhere: places that no side ties down, never worse than factory edges, and a bound under both."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
import shapely

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.cut.bounding import largest_rectangle
from cutopt.cut.nesting import Nester
from cutopt.cut.placing import moved
from cutopt.cut.records import PieceClass
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR
from cutopt.job.records import Strategy
from cutopt.lay import Piece
from cutopt.lay.records import Chord, Shape, Side
from cutopt.tile import Point
from tests.cut.pieces import Slab
from tests.cut.test_cut import random_slab
from tests.jobs import room

JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n[cut]\nseconds = 5\n")
CARPENTER = Carpenter(tile=JOB.tile, rules=JOB.rules)
MM = 320
KERF = JOB.cutting.straight_kerf


def planned(slabs: list[Slab], strategy: Strategy) -> CutPlan:
    job = replace(JOB, cutting=replace(JOB.cutting, strategy=strategy))
    pieces = [slab.piece(number) for number, slab in enumerate(slabs)]
    return cut(sort_pieces(pieces, [1] * len(pieces), CARPENTER), job, CARPENTER)


def taper(low: float, high: float, number: int = 0) -> Piece:
    """An end at a wall out of square, so long at v = 0 and at v = 600 mm."""
    ring: tuple[Point, ...] = ((0, 0), (round(low * MM), 0), (round(high * MM), 600 * MM), (0, 600 * MM))
    return _piece(ring, ((ring[1], ring[2]),), number)


def rip(low: float, high: float, number: int = 0) -> Piece:
    """A ripped piece at a wall out of square, so wide at u = 0 and at u = 600 mm."""
    ring: tuple[Point, ...] = ((0, 0), (600 * MM, 0), (600 * MM, round(high * MM)), (0, round(low * MM)))
    return _piece(ring, ((ring[2], ring[3]),), number)


def _piece(ring: tuple[Point, ...], chords: tuple[Chord, ...], number: int) -> Piece:
    fixed: tuple[Side, ...] = ("u0", "v0")
    shape = Shape(outline=ring, chords=chords, notches=())
    return Piece(area=0, row=0, col=number, shape=shape, fixed=frozenset(fixed), scribe=False, uncertainty=0)


def strip(length: float) -> Slab:
    fixed: tuple[Side, ...] = ("u0", "v0", "v1")
    return Slab(box=(0, 0, length, 600), fixed=frozenset(fixed))


#   ┌────┬┬────┬┬────┐
#   │ A  ││ B  ││ C  │    3 x 196 + 2 x 3.2 = 594.4: the middle one has no factory end
#   └────┴┴────┴┴────┘
def test_three_ends_come_from_one_tile_where_two_keep_a_factory_edge() -> None:
    ends = [strip(196), strip(196), strip(196)]
    assert (planned(ends, "factory-edge").count, planned(ends, "anywhere").count) == (2, 1)
    assert planned(ends, "anywhere").bound == 1


@pytest.mark.parametrize("seed", range(12))
def test_anywhere_is_never_worse_and_its_bound_holds(seed: int) -> None:
    dice = random.Random(seed)
    slabs = [random_slab(dice) for _ in range(dice.randint(3, 7))]
    anywhere, edges = planned(slabs, "anywhere"), planned(slabs, "factory-edge")
    assert anywhere.bound <= anywhere.count <= edges.count
    made = [piece for tile in anywhere.tiles for piece in tile.pieces for _ in range(tile.uses)]
    assert sorted(made) == list(range(len(slabs)))


#   ┌──────\┬──────┬────\┬─┐
#   │  A    \\  A  │  A  \│ │   160 mm at one side and 200 at the other: 160 + 200 + 200 + 2 x 3.2 = 566.4, the one in
#   └────────\─────┴──────┴─┘   the middle turned by half; their extents alone are 3 x 200 + 6.4
def test_tapers_nest() -> None:
    job = replace(JOB, cutting=replace(JOB.cutting, strategy="anywhere"))
    pieces = [taper(160, 200, number) for number in range(3)]
    plan = cut(sort_pieces(pieces, [1] * 3, CARPENTER), job, CARPENTER)
    assert (plan.count, plan.bound) == (1, 1)


@pytest.mark.parametrize("seed", range(20))
def test_a_piece_slides_on_until_a_kerf_is_left(seed: int) -> None:
    dice = random.Random(seed)
    shapes = [(taper if dice.random() < 0.5 else rip)(*dice.sample(range(100, 400), 2)) for _ in range(2)]
    classes = [PieceClass(shape=one.shape, fixed=one.fixed, members=(0,), counts=(1,)) for one in shapes]
    nester = Nester(classes=classes, carpenter=CARPENTER, kerf=KERF, mark=MM)
    for axis, high, one_turned, other_turned in product((0, 1), (False, True), (False, True), (False, True)):
        one, other = (0, one_turned), (1, other_turned)
        begin = nester.after(axis, high=high, one=one, other=other)
        across = nester.size(one)[1 - axis] - nester.size(other)[1 - axis] if high else 0
        gaps = []
        for along in (begin, begin - MM):
            lows = [(0, 0), (along, across) if axis == 0 else (across, along)]
            spots = [nester.spot(lie, low) for lie, low in zip((one, other), lows, strict=True)]
            there = [moved(classes[kind].shape, turn, shift, CARPENTER) for kind, turn, shift in spots]
            gaps.append(shapely.Polygon(there[0].outline).distance(shapely.Polygon(there[1].outline)))
        assert gaps[0] >= KERF - NEAR
        assert gaps[1] < KERF + MM  # a mark less is too near, but for what a corner is given more than a kerf


def test_the_rectangle_in_a_shape() -> None:
    taper = Shape(outline=((0, 0), (600 * MM, 0), (540 * MM, 600 * MM), (0, 600 * MM)), chords=(), notches=())
    assert largest_rectangle(taper) == (540 * MM - 2, 600 * MM - 2)
    triangle = Shape(outline=((0, 0), (100 * MM, 0), (0, 100 * MM)), chords=(), notches=())
    assert largest_rectangle(triangle) is None
