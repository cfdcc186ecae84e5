"""Circles in the order of laying: found whatever the choices, and broken by filling a cell in another way.

Rooms of 4 x 4 tiles of 600 mm with walls 6 mm off (604 mm pitch), and square posts in or at the edge of their cells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import permutations

import pytest

from cutopt.lay import Layout, Surveyed, cell_ways, lay, refilled, starts, untangled
from cutopt.lay.circles import CIRCLE
from cutopt.lay.comings import At, Wait, kind_of, last_first, waits_of
from cutopt.lay.filling import turned_ways
from tests.jobs import area_text, job_of, post_text, surveyed

SIDE = 4 * 604 - 4 + 2 * 6
LOW, HIGH, LEFT, RIGHT, MIDDLE = (300, 30), (300, 570), (30, 300), (570, 300), (300, 300)
ROUND_A_CORNER = [((1, 1), LEFT), ((1, 2), LOW), ((2, 2), RIGHT), ((2, 1), HIGH)]  # each comes from the next one's cell
OTHER_WAY_ROUND = [((1, 1), LOW), ((2, 1), LEFT), ((2, 2), HIGH), ((1, 2), RIGHT)]
Post = tuple[At, tuple[int, int]]


def room_with(posts: Sequence[Post], size: int = 60, lay: str = "") -> Surveyed:
    """Posts by the row and column of their cell and their place in it."""
    text = [
        post_text(6 + 604 * col + x, 6 + 604 * row + y, size, name=f"post {n}")
        for n, ((row, col), (x, y)) in enumerate(posts)
    ]
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n{lay}'
    return surveyed(job_of(head + area_text([(0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE)], more="".join(text))))


def late(layout: Layout, area: Surveyed) -> list[At]:
    """The cells of a layout that cannot be laid one after the other."""
    kinds = {(cell.row, cell.col): kind_of(cell) for cell in layout.cells}
    here = layout.by_cell
    waits = {(c.row, c.col): waits_of(here.get((c.row, c.col), ()), c, layout, area, kinds) for c in layout.cells}
    return last_first(list(waits), waits)[1]


A, B, C, D = (0, 0), (0, 1), (1, 1), (1, 0)


@pytest.mark.parametrize(
    ("some", "expected"),
    [
        ({A: [{B}], B: [{C}]}, []),
        ({A: [{B}], B: [{A}]}, [A, B]),
        ({A: [{B, D}], B: [{A}]}, []),  # A comes from D
        ({A: [{B, D}], B: [{A}], D: [{A}]}, [A, B, D]),
        ({A: [{B}, {D}], B: [{A, C}]}, []),
        ({A: [{B}, {D}], D: [{A}]}, [A, D]),  # each of its pieces has to come
        ({A: [{B}], B: [{C}], C: [{D}], D: [{A}]}, [A, B, C, D]),
        ({A: [{B}], B: [{C}], C: [{B}]}, [A, B, C]),  # A waits for a circle and is in none
    ],
)
def test_cells_that_cannot_be_ordered_are_those_for_which_no_order_does(
    some: Mapping[At, list[set[At]]], expected: list[At]
) -> None:
    turns, asked = [A, B, C, D], {at: [frozenset(wait) for wait in each] for at, each in some.items()}
    chosen, left = last_first(turns, asked)
    assert sorted(left) == sorted(expected)
    good = [order for order in permutations(turns) if all(holds(order, at, asked) for at in turns)]
    assert bool(good) == (not expected)
    for at in set(turns) - set(left):
        assert all(wait & set(chosen[at]) for wait in asked.get(at, ()))


def holds(order: Sequence[At], at: At, asked: Mapping[At, Sequence[Wait]]) -> bool:
    after = set(order[order.index(at) :])
    return all(wait & after for wait in asked.get(at, ()))


@pytest.mark.parametrize("lay_", ["", 'slats = "across"\n', 'pattern = "alternate"\n'])
@pytest.mark.parametrize(
    ("posts", "size"),
    [
        ([((1, 1), LOW), ((2, 1), HIGH)], 60),
        ([((1, 1), HIGH), ((2, 1), LOW)], 60),
        ([((1, 1), LEFT), ((1, 2), RIGHT)], 60),
        ([((1, 1), RIGHT), ((1, 2), LEFT)], 60),
        ([((1, 1), MIDDLE), ((2, 1), MIDDLE)], 115),
        ([((1, 1), MIDDLE), ((1, 2), MIDDLE)], 115),
        ([((1, 1), MIDDLE), ((1, 2), MIDDLE), ((2, 2), MIDDLE)], 115),
        ([((row, col), MIDDLE) for row in (1, 2) for col in (1, 2)], 115),
        (ROUND_A_CORNER, 60),
        (OTHER_WAY_ROUND, 60),
    ],
)
def test_no_layout_has_a_circle(posts: list[Post], size: int, lay_: str) -> None:
    area = room_with(posts, size, lay_)
    layout = lay(area, starts(area)[0])
    assert late(layout, area) == []
    assert not any(left.why == CIRCLE for cell in layout.cells for left in cell.left), "pieces were found for all cells"


def test_one_of_a_circle_stays_open_where_no_way_is_left() -> None:
    area = room_with(ROUND_A_CORNER)
    layout = lay(area, starts(area)[0])
    cells = [cell for cell in layout.cells if (cell.row, cell.col) in dict(ROUND_A_CORNER)]
    first = [next(iter(cell_ways(layout, cell, area))) for cell in cells]
    stay = {piece.shape for way in first for piece in way.pieces}
    others = {
        piece.shape
        for cell in cells
        for way in (*cell_ways(layout, cell, area), *turned_ways(layout, cell, area))
        for piece in way.pieces
    }
    circled = refilled(layout, {(c.row, c.col): way for c, way in zip(cells, first, strict=True)}, area)
    assert set(late(circled, area)) == set(dict(ROUND_A_CORNER))
    opened = untangled(circled, area, others - stay)
    assert late(opened, area) == []
    (cell,) = [cell for cell in opened.cells if cell.kind == "left" and cell not in circled.cells]
    assert {(left.rule, left.why) for left in cell.left} == {("mark", CIRCLE)}
