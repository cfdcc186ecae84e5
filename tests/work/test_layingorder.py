"""The order of laying: from the start to the way out, a notched piece before the cell that it comes from, drains last.

Rooms of whole tiles, 3 x 3 cells with walls 8 mm off (604 mm pitch), and posts in them.
"""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.job.records import Job
from cutopt.planfile import Plan
from tests.jobs import area_text, job_of, post_text

SIDE = 3 * 604 - 4 + 2 * 6


def nine(post: str = "", more: str = "", lay: str = "") -> Job:
    corners = [(0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE)]
    text = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n{lay}\n[rules]\nspare_backers = 50\n'
    return job_of(text + area_text(corners, more=more + post))


def orders(made: Plan) -> dict[tuple[int, int], int]:
    (area,) = made.areas
    return {(cell.row, cell.col): cell.order for cell in area.cells}


def in_order(made: Plan) -> list[tuple[int, int]]:
    found = orders(made)
    return sorted(found, key=lambda at: found[at])


@pytest.mark.parametrize(
    ("way_out", "first", "second", "last"),
    [
        ("", (0, 0), (0, 1), (2, 2)),
        ("way_out = 2\n", (0, 0), (0, 1), (2, 2)),  # opposite the start wall
        ("way_out = 1\n", (0, 0), (0, 1), (2, 2)),  # at the right end of the rows
        ("way_out = 3\n", (0, 2), (0, 1), (2, 0)),  # at their left end
        ("way_out = 0\n", (2, 0), (2, 1), (0, 2)),  # by the start wall: its row is the last
    ],
)
def test_from_the_start_to_the_way_out(
    way_out: str, first: tuple[int, int], second: tuple[int, int], last: tuple[int, int]
) -> None:
    found = in_order(plan(nine(more=way_out)))
    assert (found[0], found[1], found[-1]) == (first, second, last)


@pytest.mark.parametrize(
    ("x", "y", "came"),
    [
        (604 + 6 + 300, 604 + 30, (2, 1)),  # the notch opens to the start wall: from behind, which is bare by then
        (604 + 6 + 300, 2 * 604 - 20, (0, 1)),  # opens away from it: from the row before
        (604 + 30, 604 + 6 + 300, (1, 2)),  # opens to the left: from the right
        (2 * 604 - 20, 604 + 6 + 300, (1, 0)),  # opens to the right: from the left
    ],
)
@pytest.mark.parametrize("turned", ["", 'slats = "across"\n'])
def test_a_notched_piece_is_laid_before_the_cell_that_it_comes_from(
    x: float, y: float, came: tuple[int, int], turned: str
) -> None:
    made = plan(nine(post_text(x, y, 60), lay=turned))
    notched = [cell for cell in made.areas[0].cells if (cell.row, cell.col) == (1, 1)]
    assert len(notched[0].pieces) == 1, "one piece, notched from an edge"
    assert orders(made)[1, 1] < orders(made)[came]
    assert check(made) == ()


@pytest.mark.parametrize(("x", "y"), [(614, 614), (1206, 614), (614, 1206), (1206, 1206)])
def test_a_corner_notch_has_one_of_two_ways_in(x: float, y: float) -> None:
    made = plan(nine(post_text(x, y, 60)))
    found = orders(made)
    for (row, col), order in found.items():
        cell = next(c for c in made.areas[0].cells if (c.row, c.col) == (row, col))
        if cell.kind == "cut":
            down, along = (1 if 6 + 604 * col + 300 > x else -1), (1 if 6 + 604 * row + 300 > y else -1)
            ways = [(row, col + down), (row + along, col)]
            assert any(found.get(way, order + 1) > order for way in ways)
    assert check(made) == ()


def test_the_check_finds_a_piece_that_no_way_is_left_to() -> None:
    made = plan(nine(post_text(604 + 6 + 300, 2 * 604 - 20, 60)))  # it comes from the row before
    (area,) = made.areas
    turned = sorted(area.cells, key=lambda cell: (cell.row, cell.col))
    order = {(cell.row, cell.col): n for n, cell in enumerate(turned, 1)}
    cells = tuple(cell.model_copy(update={"order": order[cell.row, cell.col]}) for cell in area.cells)
    spoiled = made.model_copy(update={"areas": (area.model_copy(update={"cells": cells}),)})
    assert [finding.rule for finding in check(spoiled)] == ["laying-order"]


def test_what_covers_a_drain_is_last() -> None:
    made = plan(nine(post_text(300, 300, 80, name="gully", kind="drain")))
    assert in_order(made)[-1] == (0, 0)


def test_an_edge_that_is_not_there_is_no_way_out() -> None:
    with pytest.raises(Exception, match=r"way_out.*edges 0 to 3"):
        nine(more="way_out = 4\n")


CIRCLING = (  # drawn at random: what stays open, and what lies over a drain, is laid or left after all else
    '[tile]\nuse = "hardwood-20in"\n[lay]\ngrid = "full-first"\npattern = "alternate"\n'
    '[cut]\nstrategy = "one-for-one"\n'
    "[[area]]\ncorners = [[-16, -1], [1371, 864], [682, 1955], [-688, 1071]]\n"
    'edges = ["wall", "wall", "wall", "open"]\nway_out = 3\n'
    "[[area.post]]\nat = [1103, 1084]\nsize = [140, 140]\n"
    '[[area.post]]\nat = [854, 946]\nsize = [192, 192]\nkind = "drain"\n'
    "[[area.post]]\nat = [496, 492]\nsize = [180, 63]\n"
    "[[area.post]]\nat = [207, 559]\nsize = [167, 167]\nturn = 81.3\nlow = true\n"
)


def test_a_piece_over_a_drain_is_lifted_over_those_that_lie() -> None:
    made = plan(job_of(CIRCLING))
    assert [str(finding) for finding in check(made)] == []


def test_a_turned_post_lets_a_piece_in_from_one_side_only() -> None:
    """The notch opens to a corner, but an edge of it leans over the post: one of two ways is barred."""
    post = "[[area.post]]\nat = [1832, 918]\nsize = [69, 69]\nturn = 34\n"
    head = '[tile]\nuse = "hardwood-500"\n[lay]\ngrid = {x = 6, y = 6}\nslats = "across"\n[rules]\nspare_backers = 50\n'
    corners = [(0.0, 0.0), (1892.0, 0.0), (1902.0, 1747.0), (-98.0, 1659.0)]
    made = plan(job_of(head + area_text(corners, more=post)))
    assert [str(finding) for finding in check(made)] == []


# posts by row and column of their cell, place in it and side; a room of 4 x 4 cells
LOW, HIGH, LEFT, RIGHT, MIDDLE = (300, 30), (300, 570), (30, 300), (570, 300), (300, 300)


@pytest.mark.parametrize("lay", ["", 'slats = "across"\n', 'pattern = "alternate"\n'])
@pytest.mark.parametrize(
    "posts",
    [
        [(1, 1, LOW, 60), (2, 1, HIGH, 60)],  # each comes from the other's cell
        [(1, 1, LEFT, 60), (1, 2, RIGHT, 60)],
        [(1, 1, MIDDLE, 115), (2, 1, MIDDLE, 115)],  # both split in a slat gap, or beside a backer
        [(1, 1, MIDDLE, 115), (1, 2, MIDDLE, 115)],
        [(1, 1, LEFT, 60), (1, 2, LOW, 60), (2, 2, RIGHT, 60), (2, 1, HIGH, 60)],  # round a corner
        [(1, 1, LOW, 60), (1, 2, MIDDLE, 115), (2, 1, MIDDLE, 115)],
    ],
)
def test_pieces_around_posts_in_neighbouring_cells_do_not_wait_for_each_other(
    posts: list[tuple[int, int, tuple[int, int], int]], lay: str
) -> None:
    side = 4 * 604 - 4 + 2 * 6
    text = [
        post_text(6 + 604 * col + x, 6 + 604 * row + y, size, name=f"post {n}")
        for n, (row, col, (x, y), size) in enumerate(posts)
    ]
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n{lay}[rules]\nspare_backers = 99\n'
    made = plan(job_of(head + area_text([(0, 0), (side, 0), (side, side), (0, side)], more="".join(text))))
    assert [str(finding) for finding in check(made)] == []
    assert all(cell.kind != "left" for cell in made.areas[0].cells)
