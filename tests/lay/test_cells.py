"""Which cells take a whole tile, which are cut, which stay open: rooms that fit in the head.

Tile 600 x 600 mm, joint 4 mm, so a module of 604; gap at a wall 6 to 12 mm.
"""

from __future__ import annotations

from collections import Counter

import pytest

from cutopt.lay import Layout, starts
from cutopt.lengths import mm
from tests.jobs import area_text, job_of, layout_of, post_text, room, surveyed


def kinds(layout: Layout) -> Counter[str]:
    return Counter(cell.kind for cell in layout.cells)


def rules(layout: Layout) -> Counter[str]:
    return Counter(left.rule for cell in layout.cells for left in cell.left)


#     ┌─────┬─────┬─────┐
#     │     │     │     │   2 x 604 - 4 + 2 x 6 = 1216
#     ├─────┼─────┼─────┤
#     │     │     │     │
#     └─────┴─────┴─────┘   3 x 604 - 4 + 2 x 6 = 1820
def test_a_room_of_three_by_two_modules_is_not_cut() -> None:
    layout = layout_of(room(1820, 1216))
    assert kinds(layout) == {"whole": 6}
    assert layout.pieces == ()
    corners = {
        (mm(layout.origin[0] + c.col * 604 * 320), mm(layout.origin[1] + c.row * 604 * 320)) for c in layout.cells
    }
    assert corners == {(6 + 604 * col, 6 + 604 * row) for col in range(3) for row in range(2)}


def test_the_first_tile_is_cell_nought_nought() -> None:
    layout = layout_of(room(1820, 1216))
    assert {(cell.row, cell.col) for cell in layout.cells} == {(row, col) for row in range(2) for col in range(3)}


@pytest.mark.parametrize(
    ("width", "found"),
    [
        # after three tiles 6 + 1808 are gone; the far gap is what is left
        (1820, {"whole": 6}),  # 6, the least
        (1826, {"whole": 6}),  # 12, the most
        # 4 mm of joint and 1 to 7 mm of wood are wanted: no strip, but ground that must not stay bare in silence
        (1831, {"whole": 6, "left": 2}),
        # one millimetre less than three tiles want: the last column is cut to 599 - 6 .. 599
        (1819, {"whole": 4, "cut": 2}),
    ],
)
def test_the_far_gap_lies_between_its_least_and_most(width: float, found: dict[str, int]) -> None:
    assert kinds(layout_of(room(width, 1216))) == found


def test_a_strip_is_cut_to_the_middle_of_its_gap() -> None:
    # 6 + 2 x 604 = 1214 before the strip; 1643 - 1214 = 429 to the wall, less 6 to 12: 417 to 423, middle 420
    layout = layout_of(room(1643, 1216))
    assert kinds(layout) == {"whole": 4, "cut": 2}
    ring = tuple((u * 320, v * 320) for u, v in [(0, 0), (420, 0), (420, 600), (0, 600)])
    assert [piece.shape.outline for piece in layout.pieces] == [ring, ring]
    # the left side faces a tile, and so does the upper one in the first row and the lower one in the second
    assert sorted(sorted(piece.fixed) for piece in layout.pieces) == [["u0", "v0"], ["u0", "v1"]]


@pytest.mark.parametrize(
    ("width", "depth", "rule"),
    [
        # 40 mm past the last joint less 6: 34 mm along the slats, where two backers ripped narrower want 100
        (1858, 1216, "thinnest_across"),
        # the same at the far row, across the slats, where 75 are wanted
        (1820, 1254, "thinnest_strip"),
    ],
)
def test_slivers_stay_open_by_rule(width: float, depth: float, rule: str) -> None:
    layout = layout_of(room(width, depth))
    assert rules(layout) == {rule: 2 if width > 1820 else 3}
    assert all(cell.kind == "left" for cell in layout.cells if cell.left)
    assert layout.pieces == ()


@pytest.mark.parametrize(("kind", "left"), [("open", "open_edge"), ("stone", "stone_edge")])
def test_open_edges_and_stone_borders_take_whole_tiles_only(kind: str, left: str) -> None:
    #  the far row has 300 mm left
    layout = layout_of(room(1820, 1520, ["wall", "wall", kind, "wall"]))
    assert kinds(layout) == {"whole": 6, "left": 3}
    assert rules(layout) == {left: 3}
    assert layout.pieces == ()


def test_a_flush_edge_is_cut_to_the_line() -> None:
    # 1216 + 4 - 6 = 1214 to the last joint; 1214 + 300 = 1514; flush stays behind the line by 0 to 3: 297 to 300
    layout = layout_of(room(1820, 1514, ["wall", "wall", "flush", "wall"]))
    tops = {mm(max(v for _, v in piece.shape.outline)) for piece in layout.pieces}
    assert len(layout.pieces) == 3
    assert all(297 <= top <= 300 for top in tops)


#   ┌──────┬─┐ ┌─┐     a slot of 100 mm from the far wall down through the second row's last tile:
#   │      │ │ │ │     with 6 to 12 mm of gap each side it takes 112 to 124 of the tile's 600
#   ├──────┼─┤ ├─┤
#   │      │ └─┘ │
#   └──────┴─────┘
@pytest.mark.parametrize(
    ("right", "along", "across"),
    [
        # the wall behind the slot is at 1216, so right of it there are 1216 - 6 - 1100 - 6 = 104 mm: enough both ways
        (1216.0, {}, {}),
        # 88 mm: too short along the slats for two backers, 100; across them 75 are enough
        (1200.0, {"thinnest_across": 1}, {}),
        # 68 mm: too thin either way
        (1180.0, {"thinnest_across": 1}, {"thinnest_strip": 1}),
    ],
)
def test_a_cell_can_yield_two_pieces(right: float, along: dict[str, int], across: dict[str, int]) -> None:
    slot = [(1100.0, 1216.0), (1100.0, 560.0), (1000.0, 560.0), (1000.0, 1216.0)]
    corners = [(0.0, 0.0), (right, 0.0), (right, 1216.0), *slot, (0.0, 1216.0)]
    for slats, left in (("along", along), ("across", across)):
        head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\nslats = "{slats}"\n'
        layout = layout_of(job_of(head + area_text(corners)))
        assert rules(layout) == left
        # the cell in the second row, and below it the notched one
        cells = Counter((piece.row, piece.col) for piece in layout.pieces)
        assert (cells[1, 1], cells[0, 1]) == (2 - len(left), 1)


def test_patterns_turn_cells() -> None:
    alternate = layout_of(room(1820, 1216, lay='pattern = "alternate"'))
    assert all(cell.quarter_turn == ((cell.row + cell.col) % 2 == 1) for cell in alternate.cells)
    assert sum(cell.quarter_turn for cell in alternate.cells) == 3
    two_and_one = layout_of(room(1820, 1820, lay='pattern = "two-and-one"'))
    assert all(cell.quarter_turn == ((cell.row + cell.col) % 3 == 2) for cell in two_and_one.cells)
    assert sum(cell.quarter_turn for cell in two_and_one.cells) == 3
    across = layout_of(room(1820, 1216, lay='slats = "across"'))
    assert all(cell.quarter_turn for cell in across.cells)


def test_a_rectangular_tile_turns_the_grid_with_it() -> None:
    # 24 x 48 in modules, 1219.2 x 609.6 mm: two by two along the wall are 2434.4 x 1215.2, and 12 of gaps
    along = layout_of(room(2446.4, 1227.2, tile="hardwood-24x48in"))
    assert kinds(along) == {"whole": 4}
    assert tuple(map(mm, along.pitch)) == (1219.2, 609.6)
    across = layout_of(room(1227.2, 2446.4, tile="hardwood-24x48in", lay='slats = "across"'))
    assert kinds(across) == {"whole": 4}
    assert tuple(map(mm, across.pitch)) == (609.6, 1219.2)
    assert all(cell.quarter_turn for cell in across.cells)


def test_tiles_over_a_drain_are_whole_and_can_be_lifted() -> None:
    # the drain lies under the joint of the first two tiles of the first row: 6 + 600 + 2 = 608
    layout = layout_of(room(1820, 1216, more=post_text(608, 300, 150, name="gully", kind="drain")))
    assert kinds(layout) == {"whole": 6}
    assert sum(cell.liftable for cell in layout.cells) == 2


def test_grid_starts_by_rule() -> None:
    fixed = surveyed(room(1900, 1300, grid='{x = "120 mm", y = 7}'))
    assert [tuple(map(mm, at)) for at in starts(fixed)] == [(120, 7)]
    assert [tuple(map(mm, at)) for at in starts(surveyed(room(1900, 1300)))] == [(6, 6)]
    # centred in 2120: 6 to 2114 may be covered; three whole tiles leave (2108 - 3 x 604 + 4) / 2 = 150 each side, a
    # joint and a strip of 146, so the first whole tile is at 156
    (at,) = starts(surveyed(room(2120, 1216, grid='"centred"')))
    assert mm(at[0]) == 156
    # in 2020 the strips would be (2008 - 3 x 604 + 4) / 2 = 100 with the joint, 96 without, less than the 100 that two
    # backers want: two whole tiles, and (2008 - 1208 + 4) / 2 = 402, so the first whole tile is at 6 + 402 = 408
    (at,) = starts(surveyed(room(2020, 1216, grid='"centred"')))
    assert mm(at[0]) == 408
    best = starts(surveyed(room(1900, 1300, grid='"best"')))
    assert len(set(best)) == len(best) > 10
