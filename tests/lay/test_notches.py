"""Notches of every shape: along and across, several in one tile, many legs, reflex corners, marks from the opening.

Room of 2 x 2 tiles of 600 mm, the first tile's corner at (6, 6); gap at walls and posts 6 to 12 mm. In the first tile's
frame a post lies 6 mm lower and further left than in the room; wood keeps 6 to 12 mm off it, 9 where nothing speaks
against the middle.
"""

from __future__ import annotations

import pytest

from cutopt.lay import Piece
from tests.jobs import area_text, job_of, layout_of, post_text, room

HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n'
EDGE = post_text(306, 56, 100, name="edge")  # tile frame: u 250 to 350, v 0 to 100
SIDE = post_text(56, 306, 100, name="side")  # u 0 to 100, v 250 to 350


def first(job_pieces: tuple[Piece, ...]) -> Piece:
    (piece,) = [piece for piece in job_pieces if (piece.row, piece.col) == (0, 0)]
    return piece


def paths(piece: Piece) -> list[tuple[tuple[float, float], ...]]:
    return [tuple((u / 320, v / 320) for u, v in notch.path) for notch in piece.shape.notches]


#  ┌───────────┐      legs: 250 - 9 = 241 and 350 + 9 = 359; depth 100 + 9 = 109
#  │   ┌───┐   │      run along the piece's own edge, kept wood on the left: from the low corner on, anticlockwise
#  └───┘▓▓▓└───┘
ACROSS = ((241.0, 0.0), (241.0, 109.0), (359.0, 109.0), (359.0, 0.0))
#  ┌──────┐
#  ├─┐    │           the same from the side u0
#  ▓▓│    │
#  ├─┘    │
#  └──────┘
ALONG = ((0.0, 359.0), (109.0, 359.0), (109.0, 241.0), (0.0, 241.0))


@pytest.mark.parametrize(
    ("posts", "expected"),
    [(EDGE, [ACROSS]), (SIDE, [ALONG]), (f"{EDGE}low = true\n{SIDE}low = true\n", [ALONG, ACROSS])],
)
def test_u_notches_across_along_and_both(posts: str, expected: list[tuple[tuple[float, float], ...]]) -> None:
    layout = layout_of(room(1216, 1216, more=posts))
    assert sorted(paths(first(layout.pieces))) == sorted(expected)
    assert not any(cell.left for cell in layout.cells)


def test_two_notches_that_open_square_to_each_other_are_in_two_pieces() -> None:
    """One piece would have to come from above for the one post, and from the right for the other."""
    layout = layout_of(room(1216, 1216, more=EDGE + SIDE))
    here = [piece for piece in layout.pieces if (piece.row, piece.col) == (0, 0)]
    assert len(here) > 1
    assert not any(cell.left for cell in layout.cells)


def test_notches_are_taken_out_of_the_outline() -> None:
    piece = first(layout_of(room(1216, 1216, more=EDGE)).pieces)
    ring = [(u / 320, v / 320) for u, v in piece.shape.outline]
    assert ring == [(0, 0), *ACROSS, (600, 0), (600, 600), (0, 600)]
    assert piece.shape.chords == ()


#  ┌───────────────┐     an L of posts: u 250 to 400 to v 100, and u 250 to 300 on to v 200
#  │  ┌─┐          │     left 241; top 209; the arm's right side 300 + 9 = 309; the foot's top 109; right 409
#  │  │▓└───┐      │     the path turns to both sides
#  └──┘▓▓▓▓▓└──────┘
def test_a_notch_with_five_legs() -> None:
    corners = [(256, 6), (406, 6), (406, 106), (306, 106), (306, 206), (256, 206)]
    text = f'[[area.post]]\nname = "L"\ncorners = {[list(map(float, c)) for c in corners]}\n'
    piece = first(layout_of(room(1216, 1216, more=text)).pieces)
    assert paths(piece) == [((241, 0), (241, 209), (309, 209), (309, 109), (409, 109), (409, 0))]


#  a pier of 100 x 100 in the wall, and a post 10 mm beside it: no wood goes between them
#      ┌─────┐
#      │▓▓▓▓▓└───┐       pier: u 294 to 394, v to 94: 294 - 9 = 285, 94 + 9 = 103, 394 + 9 = 403
#      │▓▓▓▓▓ ▓▓▓│       post: u 404 to 464, v to 54: 54 + 9 = 63, 464 + 9 = 473
def test_a_pier_with_a_post_in_its_inner_corner() -> None:
    pier = [(300.0, 0.0), (300.0, 100.0), (400.0, 100.0), (400.0, 0.0)]
    corners = [(0.0, 0.0), *pier, (1216.0, 0.0), (1216.0, 1216.0), (0.0, 1216.0)]
    post = '[[area.post]]\nname = "pipe"\ncorners = [[410.0, 0.0], [470.0, 0.0], [470.0, 60.0], [410.0, 60.0]]\n'
    layout = layout_of(job_of(HEAD + area_text(corners, more=post)))
    assert paths(first(layout.pieces)) == [((285, 0), (285, 103), (403, 103), (403, 63), (473, 63), (473, 0))]


#  the room's own corner turns in: 1216 less 300 at the right of the upper half
#  ┌────────┐
#  │        └──┐   the reflex corner is a corner notch of the tile it lies in
#  └───────────┘
def test_a_reflex_wall_corner() -> None:
    corners = [(0.0, 0.0), (1216.0, 0.0), (1216.0, 400.0), (916.0, 400.0), (916.0, 1216.0), (0.0, 1216.0)]
    layout = layout_of(job_of(HEAD + area_text(corners)))
    (piece,) = [p for p in layout.pieces if (p.row, p.col) == (0, 1)]
    # tile (0, 1) begins at 6 + 604 = 610: the corner is at u = 916 - 610 = 306, v = 400 - 6 = 394; less 9: 297, 385
    assert paths(piece) == [((600, 385), (297, 385), (297, 600))]


#  a turned post over the edge: all sides oblique, corners on marks within the gap
def test_a_turned_post_has_its_corners_on_marks() -> None:
    text = post_text(306, 56, 80) + "turn = 20\n"
    piece = first(layout_of(room(1216, 1216, more=text)).pieces)
    assert [notch for notch in piece.shape.notches if notch.radius is None]
    for path in paths(piece):
        assert all(u == round(u) and v == round(v) for u, v in path)


@pytest.mark.parametrize("at", [(56.0, 56.0), (555.0, 56.0), (56.0, 555.0), (555.0, 555.0)])
def test_inch_marks_of_a_notch_are_measured_from_the_edges_it_opens_to(at: tuple[float, float]) -> None:
    # the 24 in tile is 605.6 mm of wood, 193792 ticks, no whole number of 1/16 in (508 ticks; 1 in = 25.4 mm, NIST SP
    # 811, App. B.8), so a mark measured from the far edge would be none from the corner that the notch lies in
    size = 193792
    assert size % 508 != 0
    head = '[job]\nmark = "1/16 in"\n'
    layout = layout_of(room(1227.2, 1227.2, tile="hardwood-24in", before=head, more=post_text(*at, 100)))
    (notch,) = first(layout.pieces).shape.notches
    ((u, v),) = [p for p in notch.path if 0 < p[0] < size and 0 < p[1] < size]
    assert (u if at[0] < 300 else size - u) % 508 == 0
    assert (v if at[1] < 300 else size - v) % 508 == 0
