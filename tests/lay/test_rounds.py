"""Round posts: arcs with their centre and radius on marks, square ones by rule, and posts that a tile is lifted over.

Tile 600 mm, first corner at (6, 6), gap at posts 6 to 12 mm. A post of 110 mm: its radius 55 and a gap of 6 to 12 make
an arc of 61 to 67, less what stands for the circle at both ends; 64 is the middle.
"""

from __future__ import annotations

import math

import pytest
import shapely

from cutopt.lay import Layout, Piece
from cutopt.lay.records import Notch
from tests.jobs import layout_of, room


def round_post(x: float, y: float, diameter: float, more: str = "") -> str:
    return f'[[area.post]]\nname = "pipe"\nat = [{x!r}, {y!r}]\ndiameter = {diameter!r}\n{more}'


def pieces_at(layout: Layout, row: int, col: int) -> list[Piece]:
    return [piece for piece in layout.pieces if (piece.row, piece.col) == (row, col)]


def arc_of(piece: Piece) -> Notch:
    (notch,) = [notch for notch in piece.shape.notches if notch.radius is not None]
    return notch


def clear_of(piece: Piece, centre: tuple[float, float], radius: float) -> float:
    """Millimetres between a piece and a circle, both in the tile frame."""
    wood = shapely.Polygon(piece.shape.outline, piece.shape.holes)
    return float(wood.distance(shapely.Point(centre[0] * 320, centre[1] * 320))) / 320 - radius


#  the post stands past the tile's corner: one arc from side to side, no legs
#          │ ·
#  ────────┘
def test_a_shallow_arc_enters_from_the_side() -> None:
    # centre at (614, 614) in the first tile's frame, 14 mm past both its sides
    piece = pieces_at(layout_of(room(1216, 1216, more=round_post(620.0, 620.0, 110.0))), 0, 0)[0]
    notch = arc_of(piece)
    assert notch.centre == (614 * 320, 614 * 320)
    assert notch.radius == 64 * 320
    # the circle of 64 meets u = 600 at v = 614 - root(64 x 64 - 14 x 14) = 551.55; the polyline is up to 0.3 mm outside
    assert notch.path[0][0] == 600 * 320
    assert notch.path[0][1] / 320 == pytest.approx(551.55, abs=0.4)
    assert notch.path[-1][1] == 600 * 320
    for u, v in notch.path:
        assert 64 - 0.01 <= math.dist((u / 320, v / 320), (614, 614)) <= 64.31
    assert 6 <= clear_of(piece, (614, 614), 55) <= 12


#   │    ╭─╮    │     the centre is 44 mm inside the tile's side: straight legs at 294 - 64 = 230 and 294 + 64 = 358
#   │    │ │    │
#   └────┘ └────┘
def test_a_deep_arc_has_straight_legs_to_the_side() -> None:
    layout = layout_of(room(1216, 1216, more=round_post(300.0, 60.0, 100.0)))
    (piece,) = pieces_at(layout, 0, 0)
    notch = arc_of(piece)
    assert notch.centre == (294 * 320, 54 * 320)
    radius = (notch.radius or 0) / 320
    assert radius == 59  # 50 and 6 to 12
    assert notch.path[0] == ((294 - 59) * 320, 0)
    assert notch.path[-1] == ((294 + 59) * 320, 0)
    assert 6 <= clear_of(piece, (294, 54), 50) <= 12
    assert max(v for _, v in notch.path) / 320 == pytest.approx(54 + 59, abs=0.4)


def test_the_centre_goes_to_a_mark_and_the_radius_allows_for_that() -> None:
    piece = pieces_at(layout_of(room(1216, 1216, more=round_post(620.4, 619.7, 111.0))), 0, 0)[0]
    notch = arc_of(piece)
    assert notch.centre is not None
    assert all(x % 320 == 0 for x in (*notch.centre, notch.radius or 1))
    assert 6 <= clear_of(piece, (614.4, 613.7), 55.5) <= 12


def test_a_column_wider_than_a_tile_parts_it_in_arcs() -> None:
    # a column of 900 mm on the crossing of four tiles takes a quarter of its circle out of each
    layout = layout_of(room(1216, 1216, more=round_post(608.0, 608.0, 900.0)))
    assert len(layout.pieces) == 4
    for row, col, centre in ((0, 0, (602, 602)), (0, 1, (-2, 602)), (1, 0, (602, -2)), (1, 1, (-2, -2))):
        (piece,) = pieces_at(layout, row, col)
        assert 6 <= clear_of(piece, centre, 450) <= 12


def test_a_round_post_is_cut_square_by_rule() -> None:
    job = room(1216, 1216, before='[cut]\nround_posts = "square"\n', more=round_post(300.0, 60.0, 100.0))
    (piece,) = pieces_at(layout_of(job), 0, 0)
    (notch,) = piece.shape.notches
    assert (notch.radius, notch.centre, notch.closed) == (None, None, False)
    # the square around the circle: u 244 to 344, v to 104, and 9 mm on: the notch keeps its corners on marks
    assert [(u / 320, v / 320) for u, v in notch.path] == [(235, 0), (235, 113), (353, 113), (353, 0)]


def test_corners_of_a_square_notch_around_a_round_post_are_listed() -> None:
    job = room(1216, 1216, before='[cut]\nround_posts = "square"\n', more=round_post(300.0, 60.0, 100.0))
    rules = {left.rule for cell in layout_of(job).cells for left in cell.left}
    # (50 + 9) x root 2 - 50 = 33 mm from the post, more than 12
    assert rules == {"post_gap"}


@pytest.mark.parametrize(
    ("rule", "sides"), [('[cut]\nround_posts = "round"\n', None), ('[cut]\nround_posts = "square"\n', 4)]
)
def test_a_low_post_is_lifted_over(rule: str, sides: int | None) -> None:
    job = room(1216, 1216, before=rule, more=round_post(300.0, 300.0, 110.0, "low = true\n"))
    layout = layout_of(job)
    (piece,) = layout.pieces
    assert [(u / 320, v / 320) for u, v in piece.shape.outline] == [(0, 0), (600, 0), (600, 600), (0, 600)]
    (hole,) = piece.shape.holes
    ring = shapely.LinearRing(hole)
    assert not ring.is_ccw  # holes run clockwise, so that the kept wood is on the left
    assert len(hole) == sides or (sides is None and len(hole) > 20)
    assert 6 <= clear_of(piece, (294, 294), 55) <= 12
