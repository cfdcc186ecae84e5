"""Pieces out of the waste of a notch: what comes out whole, what it has room for, and the tiles that it saves.

┌──────────┬──────┐ 600
│          │  B   │       the notch of A, 300 mm from two sides; its block, less the widest kerf of 3.2,
│          └──────┤ 300   is 296.8 by 296.8 mm
│    A            │
└─────────────────┘
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cutopt import check, plan
from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.cut.bounding import Loosely, fewest_anywhere, least_price
from cutopt.cut.companions import fewest_together
from cutopt.cut.nesting import Nester
from cutopt.cut.records import Place, SawTree
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.cut.within import rooms_in, within
from cutopt.fit import Fit
from cutopt.geometry import Ring, rectangle
from cutopt.job.records import Strategy
from cutopt.lay import Piece
from cutopt.lay.records import Chord, Notch, Shape, Side
from cutopt.planfile import Plan
from tests.jobs import area_text, carpenter_of, job_of, room

MM = 320
JOB = room(1820, 1216, before="[rules]\nspare_backers = 99\n[cut]\nseconds = 2\n")
CARPENTER = carpenter_of(JOB)
SIZE = (JOB.tile.length, JOB.tile.width)
SAWS = Saws(tile=JOB.tile, rules=JOB.rules, cutting=JOB.cutting)
NO_FIT = Fit(fragments=(), seats=(), drives=(), stands=(), minutes=0)
ALL: frozenset[Side] = frozenset(("u0", "v0", "u1", "v1"))
Spots = list[tuple[float, float]]


def ticks(spots: Spots) -> Ring:
    return tuple((round(x * MM), round(y * MM)) for x, y in spots)


CORNER = Notch(path=ticks([(600, 300), (300, 300), (300, 600)]))
ELL = Shape(
    outline=ticks([(0, 0), (600, 0), (600, 300), (300, 300), (300, 600), (0, 600)]), chords=(), notches=(CORNER,)
)


def block(side: float, *, low: float | None = None) -> Shape:
    """A square in the tile's far corner, or with its low corner so far from both near sides."""
    u0 = 600 - side if low is None else low
    lines: list[tuple[tuple[float, float], tuple[float, float]]] = [((0, u0), (600, u0)), ((u0, 600), (u0, 0))]
    if low is not None:
        lines += [((low + side, 0), (low + side, 600)), ((600, low + side), (0, low + side))]
    chords: tuple[Chord, ...] = tuple((a, b) for a, b in (ticks(list(line)) for line in lines))
    end = u0 + side
    return Shape(outline=ticks([(u0, u0), (end, u0), (end, end), (u0, end)]), chords=chords, notches=())


def place(shape: Shape, kind: int = 0) -> Place:
    return Place(kind=kind, half_turn=False, shift=(0, 0), shape=shape, fit=NO_FIT)


def tree_of(*shapes: Shape) -> SawTree | None:
    return saw_tree([place(shape, kind) for kind, shape in enumerate(shapes)], rectangle(*SIZE), SAWS)


def test_the_block_of_a_corner_notch_is_sawn_on() -> None:
    tree = tree_of(ELL, block(250))
    assert tree is not None
    notch, *others = tree.cuts
    assert (notch.saw, notch.bent, notch.place) == ("jigsaw", True, 0)
    assert tree.finished[0] == notch.left
    assert [cut.place for cut in others] == [1, 1]
    assert others[0].part == notch.right
    assert tree.out_of_notch(tree.finished[1]) == 0
    assert tree.out_of_notch(tree.finished[0]) is None


@pytest.mark.parametrize(("side", "can"), [(296.8, True), (296.9, False)])
def test_the_widest_kerf_is_left_all_round(side: float, can: bool) -> None:
    assert (tree_of(ELL, block(side)) is not None) is can
    there = within([place(ELL), place(block(side), 1)], rectangle(*SIZE), SAWS.widest)
    assert there.tolist() == [[False, can], [can, False]]


#   ┌────┐    ┌────┐     a blade turns round twice in the waste of a U, and starts from a hole in that of a ring: no
#   │    └────┘    │     piece is taken out of either
#   └──────────────┘
@pytest.mark.parametrize(
    "notch",
    [
        Notch(path=ticks([(550, 600), (550, 300), (50, 300), (50, 600)])),
        Notch(path=ticks([(50, 50), (50, 550), (550, 550), (550, 50)]), closed=True),
    ],
)
def test_no_piece_comes_out_of_a_notch_that_the_blade_turns_round_in(notch: Notch) -> None:
    outline = ticks([(0, 0), (600, 0), (600, 600), (0, 600)])
    shape = Shape(outline=outline, chords=(), notches=(notch,))
    assert tree_of(shape, block(100, low=350)) is None
    assert rooms_in(shape, SIZE) == []


def test_a_cut_to_size_comes_before_the_notch() -> None:
    """The ell is ripped to 500 mm first: its block is 200 mm high then, less a kerf."""
    cut_ = ((600, 500), (0, 500))
    outline = ticks([(0, 0), (600, 0), (600, 300), (300, 300), (300, 500), (0, 500)])
    path = Notch(path=ticks([(600, 300), (300, 300), (300, 500)]))
    line = ticks(list(cut_))
    shape = Shape(outline=outline, chords=((line[0], line[1]),), notches=(path,))
    tree = tree_of(shape, block(150, low=320))
    assert tree is not None
    assert [cut.bent for cut in tree.cuts] == [False, True, False, False, False, False]
    assert tree_of(shape, block(150, low=360)) is None  # up to 510 mm: the rip goes through it
    assert rooms_in(shape, SIZE) == [(300 * MM, 200 * MM)]


def piece(shape: Shape, fixed: frozenset[Side], number: int) -> Piece:
    return Piece(area=0, row=0, col=number, shape=shape, fixed=fixed, scribe=False, uncertainty=0)


def planned(strategy: Strategy, side: float) -> CutPlan:
    """An ell and a corner square."""
    job = replace(JOB, cutting=replace(JOB.cutting, strategy=strategy))
    pieces = [piece(ELL, ALL, 0), piece(block(side), frozenset(("u1", "v1")), 1)]
    return cut(sort_pieces(pieces, [1, 1], CARPENTER), job, CARPENTER)


@pytest.mark.parametrize("strategy", ["factory-edge", "anywhere"])
@pytest.mark.parametrize(("side", "tiles"), [(250, 1), (299, 2)])
def test_a_corner_square_comes_out_of_an_ell(strategy: Strategy, side: float, tiles: int) -> None:
    found = planned(strategy, side)
    assert (found.count, found.bound) == (tiles, tiles)


@pytest.mark.parametrize(("side", "tiles"), [(250, 1), (301, 2)])
def test_bounds_look_into_notches(side: float, tiles: int) -> None:
    pieces = [piece(ELL, ALL, 0), piece(block(side), frozenset(("u1", "v1")), 1)]
    stock = sort_pieces(pieces, [1, 1], CARPENTER)
    assert fewest_together(stock.classes, JOB, CARPENTER) == tiles
    assert fewest_anywhere(stock, JOB) == tiles
    loosely = Loosely(pieces=pieces, counts=[1, 1], left_out=[9.0, 9.0], play=0)
    assert least_price(loosely, CARPENTER, JOB.cutting) == pytest.approx(tiles)


def test_a_nester_knows_the_room_in_a_notch() -> None:
    pieces = [piece(ELL, ALL, 0), piece(block(250), frozenset(("u1", "v1")), 1)]
    classes = sort_pieces(pieces, [1, 1], CARPENTER).classes
    nester = Nester(classes=classes, carpenter=CARPENTER, kerf=SAWS.widest, mark=JOB.mark)
    ell = next(kind for kind, found in enumerate(classes) if found.shape.notches)
    square = 1 - ell
    (far,) = nester.rooms((ell, False))
    (near,) = nester.rooms((ell, True))
    assert np.array(far) / MM == pytest.approx([303.2, 303.2, 600, 600])
    assert np.array(near) / MM == pytest.approx([0, 0, 296.8, 296.8])
    assert [tuple(x / MM for x in at) for at in nester.corners_in(near, (square, False))] == [
        (0, 0), (0, 46), (46, 0), (46, 46),
    ]  # fmt: skip
    assert nester.corners_in((0, 0, 249 * MM, 300 * MM), (square, False)) == []


# an L-shaped deck whose inner corner falls into a tile, so that a corner piece comes out of that one's notch
@pytest.fixture(scope="module")
def deck() -> Plan:
    corners = [(0, 0), (2710, 0), (2710, 2560), (2000, 2560), (2000, 3570), (0, 3570)]
    head = '[tile]\nuse = "hardwood-600"\n[lay]\npitch = "604 mm"\ngrid = "full-first"\n'
    return plan(job_of(head + area_text(corners)))


def test_a_deck_with_a_tile_less(deck: Plan) -> None:
    assert check(deck) == ()
    assert (deck.totals.cut, deck.totals.lower_bound) == (7, 7)


def test_the_steps_keep_the_block_and_draw_no_line_on_its_neighbour(deck: Plan) -> None:
    (source,) = [
        source
        for source in deck.sources
        for notch in source.cuts
        if len(notch.path) > 2 and any(cut.part == notch.into[1] for cut in source.cuts)
    ]
    notch = next(cut for cut in source.cuts if len(cut.path) > 2)
    inner = next(cut for cut in source.cuts if cut.part == notch.into[1])
    steps = [step for step in deck.steps if step.source == source.id]
    (sawn,) = [step for step in steps if step.do == "cut" and step.cut == notch.n]
    assert f"Keep {notch.into[1]} from dropping: {inner.piece} is cut out of it." in sawn.text
    marked = [step for step in steps if step.do == "mark" and step.cut is not None and step.cut != notch.n]
    assert marked
    assert all(f"draw no line on {notch.piece}" in step.text for step in marked)
