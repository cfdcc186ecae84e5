"""The backers that pieces take at least, wherever they lie: by hand, and against what the carpenter hangs at random."""

from __future__ import annotations

import random

import pytest
import shapely

from cutopt.cut.records import PieceClass
from cutopt.cut.scarcity import fewest_by_backers, least_backers
from cutopt.fit import Carpenter, Fit
from cutopt.geometry import Ring, from_lowest
from cutopt.lay import Shape
from cutopt.rules import load_rules
from tests.jobs import room

JOB = room(1820, 1216)
CARPENTER = Carpenter(tile=JOB.tile, rules=JOB.rules)
MM = 320


def ring(*corners: tuple[float, float]) -> Ring:
    return tuple((round(u * MM), round(v * MM)) for u, v in corners)


def box(length: float, width: float) -> Ring:
    return ring((0, 0), (length, 0), (length, width), (0, width))


def mm(count: int, length: int) -> tuple[int, int]:
    return count, round(length / MM)


# the tile's backers are 588 mm, 6 mm from both edges; its bays are 260 mm, a slat may reach 90 mm past a backer, these
# are 60 mm wide: two backers do up to 260 + 2 · (90 + 30) = 500 mm
@pytest.mark.parametrize(
    ("length", "width", "backers"),
    [(190, 600, (2, 588)), (500, 600, (2, 588)), (501, 600, (3, 588)), (600, 400, (3, 388)), (140, 600, (1, 588))],
)
def test_a_rectangle_takes_backers_from_edge_to_edge(length: float, width: float, backers: tuple[int, int]) -> None:
    assert mm(*least_backers(box(length, width), JOB.tile, JOB.rules)) == backers


def test_behind_a_slight_taper_the_shortest_slat_hangs_on_long_backers() -> None:
    # 190 mm long at the low side, 205 at the high one; the last slat to which both backers reach is the shortest
    count, length = least_backers(ring((0, 0), (190, 0), (205, 600), (0, 600)), JOB.tile, JOB.rules)
    assert count == 2
    assert 480 * MM < length <= 588 * MM


def test_nothing_is_sure_of_a_piece_with_a_backer_along_its_oblique_edge() -> None:
    assert least_backers(ring((0, 0), (190, 0), (290, 600), (0, 600)), JOB.tile, JOB.rules) == (0, 0)


# ten strips of 190 mm hang on two backers each: 20, less those bought, at three a tile; their wood is that of 3.2 tiles
@pytest.mark.parametrize(("spares", "tiles"), [(0, 7), (2, 6), (20, 0)])
def test_strips_take_as_many_tiles_as_have_their_backers(spares: int, tiles: int) -> None:
    shape = Shape(outline=box(190, 600), chords=(), notches=())
    strips = PieceClass(shape=shape, fixed=frozenset(), members=(0,), counts=(10,))
    rules = load_rules({"spare_backers": spares})
    assert fewest_by_backers([strips], JOB.tile, rules) == tiles


def random_ring(dice: random.Random) -> Ring:
    """A convex piece: a rectangle, or one with a slight taper or a corner off."""
    length, width = dice.uniform(110, 600), dice.choice([600, 600, dice.uniform(90, 600)])
    piece = shapely.box(0, 0, length, width)
    if dice.random() < 0.6:  # a taper at its end
        off = dice.uniform(0, 19)
        piece &= shapely.Polygon([(-1, -1), (length - off, -1), (length, width + 1), (-1, width + 1)])
    if dice.random() < 0.4:  # a corner off, by a cut of any slope
        u, v = dice.uniform(5, length * 0.6), dice.uniform(5, width * 0.6)
        piece -= shapely.Polygon([(0, 0), (u, 0), (0, v)])
    if dice.random() < 0.3:  # its upper side out of square
        piece &= shapely.Polygon([(0, 0), (length, 0), (length, width - dice.uniform(0, 60)), (0, width)])
    corners = [(round(u * MM), round(v * MM)) for u, v in piece.exterior.normalize().coords[:-1]]
    return from_lowest(tuple(corners if shapely.Polygon(corners).exterior.is_ccw else corners[::-1]))


@pytest.mark.parametrize("seed", range(12))
def test_what_the_carpenter_hangs_takes_no_less(seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(3):
        piece = random_ring(dice)
        count, length = least_backers(piece, JOB.tile, JOB.rules)
        us, vs = zip(*piece, strict=True)
        for turned in (False, True):
            shift = dice.randint(0, JOB.tile.length - max(us)), dice.randint(0, JOB.tile.width - max(vs))
            there = from_lowest(tuple((u + shift[0], v + shift[1]) for u, v in piece))
            answer = CARPENTER.fit(CARPENTER.turned(there) if turned else there)
            if isinstance(answer, Fit):
                assert sum(seat.length >= length for seat in answer.seats) >= count
