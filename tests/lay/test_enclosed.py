"""A post that one tile would enclose: split in a slat gap, split along the backers, or notched and closed by an infill.

Tile 600 x 600 mm with seven slats of 80 and gaps of 40 / 6 = 6.67 mm; kerf of the widest straight saw 3.2 mm.
"""

from __future__ import annotations

import pytest
import shapely

from cutopt.lay import Piece, Way, cell_ways, lay, starts
from cutopt.lengths import mm
from tests.jobs import layout_of, post_text, room, surveyed


def ways_of(more: str) -> list[Way]:
    """All ways of the first cell of a room of 2 x 2 tiles."""
    area = surveyed(room(1216, 1216, more=more))
    layout = lay(area, starts(area)[0])
    (cell,) = [cell for cell in layout.cells if cell.kind != "whole"]
    return list(cell_ways(layout, cell, area))


def box_of(piece: Piece) -> tuple[float, ...]:
    us, vs = [p[0] for p in piece.shape.outline], [p[1] for p in piece.shape.outline]
    return mm(min(us)), mm(min(vs)), mm(max(us)), mm(max(vs))


#  ┌───────────┐   the post: u and v 236.5 to 351.5 in the tile's frame, its middle at 294
#  │   ┌───┐   │   slat gaps lie at 253.3 to 260 and 340 to 346.7; both run through the notch, 260 - 3.33 = 256.67 is
#  ├───┘ ▓ └───┤   nearer to 294 (37.3) than 343.3 (49.3)
#  ├───┐   ┌───┤   halves end 1.6 mm to each side of 256.67
#  └───┴───┴───┘
def test_a_post_of_115_is_split_in_the_nearest_slat_gap() -> None:
    layout = layout_of(room(1216, 1216, more=post_text(300, 300, 115)))
    low, high = sorted(layout.pieces, key=lambda piece: box_of(piece)[1])
    assert box_of(low) == pytest.approx((0, 0, 600, 256.67 - 1.6), abs=0.01)
    assert box_of(high) == pytest.approx((0, 256.67 + 1.6, 600, 600), abs=0.01)
    assert min(v for _, v in high.shape.outline) - max(v for _, v in low.shape.outline) == 1024
    # each has a chord there, its own wood on the left, and an open notch: 236.5 - 9 and 351.5 + 9 on marks
    for piece, way in ((low, -1), (high, 1)):
        ((a, b),) = piece.shape.chords
        assert a[1] == b[1]
        assert (b[0] - a[0]) * way > 0
        (notch,) = piece.shape.notches
        assert not notch.closed
        assert {mm(u) for u, _ in notch.path} == {227.0, 361.0}
    # nothing is fixed along the split: the lower half faces the tile to its right, the upper one that above as well
    assert sorted(low.fixed) == ["u1"]
    assert sorted(high.fixed) == ["u1", "v1"]
    assert not any(cell.left for cell in layout.cells)


def test_the_ways_come_in_their_order() -> None:
    found = ways_of(post_text(300, 300, 115))
    assert all(len(way.pieces) == 2 for way in found)

    def kind(way: Way) -> str:
        one, other = sorted(way.pieces, key=lambda piece: shapely.Polygon(piece.shape.outline).area)
        if box_of(one)[0] == 0 and box_of(one)[2] == 600 and box_of(other)[2] == 600:
            return "gap"
        return "backers" if box_of(one)[3] - box_of(one)[1] == 600 else "infill"

    kinds = list(dict.fromkeys(kind(way) for way in found))
    assert kinds == ["gap", "backers", "infill"]


def test_a_split_along_the_backers_is_on_a_mark_by_the_middle() -> None:
    way = next(
        way
        for way in ways_of(post_text(300, 300, 115))
        if all(box_of(piece)[3] - box_of(piece)[1] == 600 for piece in way.pieces)
    )
    left, right = sorted(way.pieces, key=lambda piece: box_of(piece)[0])
    at = max(u for u, _ in left.shape.outline)
    assert at % 320 == 0
    assert abs(mm(at) - 294) <= 2
    assert min(u for u, _ in right.shape.outline) - at == 1024


#  ┌───────────┐   the infill: a joint of 4 mm to the notch's legs at 227 and 361, so 231 to 357; up to 6 mm from the
#  │   ┌───┐   │   post, which begins at 236.5: 230 on marks; both extents are 100 or more
#  │   │ ▓ │   │   the nearest sides are u0 and v0, 230.5 from the post with its gap: u0 first
#  │   ├───┤   │
#  └───┴───┴───┘
def test_a_notch_to_the_edge_is_closed_by_an_infill() -> None:
    way = ways_of(post_text(300, 300, 115))[-1]
    infill = min(way.pieces, key=lambda piece: shapely.Polygon(piece.shape.outline).area)
    main = max(way.pieces, key=lambda piece: shapely.Polygon(piece.shape.outline).area)
    u0, v0, u1, v1 = box_of(infill)
    low, high = sorted(((u0, u1), (v0, v1)))
    assert (low, high) == ((0, 230), (231, 357))
    assert len(infill.shape.chords) == 3
    (notch,) = main.shape.notches
    assert {mm(x) for p in notch.path for x in p} == {0.0, 227.0, 361.0}
    wood = [shapely.Polygon(piece.shape.outline) for piece in way.pieces]
    assert wood[0].distance(wood[1]) == pytest.approx(4 * 320)


def test_an_infill_is_no_smaller_than_its_rule() -> None:
    # 60 mm wide: the notch is 60 + 18 and the infill 70, less than 100
    for way in ways_of(post_text(300, 300, 60)):
        for piece in way.pieces:
            u0, v0, u1, v1 = box_of(piece)
            assert min(u1 - u0, v1 - v0) >= 75


def test_two_posts_in_one_tile_are_split_twice() -> None:
    layout = layout_of(room(1216, 1216, more=post_text(300, 300, 115) + post_text(450, 100, 60, name="other")))
    assert len(layout.pieces) == 3
    assert not any(cell.left for cell in layout.cells)


def test_nothing_narrow_is_left_between_a_post_and_the_edge() -> None:
    # the post's gap begins 13 mm from the side v0: no screw holds in that, so the notch opens there
    layout = layout_of(room(1216, 1216, more=post_text(300, 80, 110)))
    (piece,) = layout.pieces
    (notch,) = piece.shape.notches
    assert {notch.path[0][1], notch.path[-1][1]} == {0}
    assert {left.rule for cell in layout.cells for left in cell.left} == {"fragment_least"}
