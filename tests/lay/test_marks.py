"""Where cuts are marked: on whole marks, within the gap, for walls out of square and posts."""

from __future__ import annotations

import math

import pytest

from cutopt.geometry import Rail
from cutopt.lay import Piece
from cutopt.lay.records import corner_of, to_layout
from cutopt.lengths import mm
from tests.jobs import area_text, job_of, layout_of, post_text, room

HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n'


def gaps_to(
    piece: Piece, wall: tuple[tuple[float, float], tuple[float, float]], origin: tuple[int, int]
) -> list[float]:
    """Millimetres from each end of the piece's first through-cut to a wall, in the layout frame; straight pattern."""
    a, b = ((x * 320, y * 320) for x, y in wall)
    rail = Rail(a=a, b=b, slack=0)
    corner = corner_of(origin, (604 * 320, 604 * 320), piece.row, piece.col)
    return [rail.distance(to_layout(p, corner, False, 600 * 320)) / 320 for p in piece.shape.chords[0]]


#   ┌─────┬─────┬──┐       the right wall leans in by 24 mm over 1216
#   ├─────┼─────┼──┤\
#   └─────┴─────┴───┘
def test_a_leaning_wall_gives_tapers_on_marks() -> None:
    wall = ((1643.0, 0.0), (1619.0, 1216.0))
    job = job_of(HEAD + area_text([(0, 0), *wall, (0, 1216)]))
    layout = layout_of(job)
    assert len(layout.pieces) == 2
    for piece in layout.pieces:
        assert len(piece.shape.chords) == 1
        (u0, v0), (u1, v1) = piece.shape.chords[0]
        assert (v0, v1) == (0, 600 * 320)
        # 24 / 1216 x 600 = 11.8 mm of lean do not go into 6 mm of play, so the cut is oblique
        assert 6 * 320 < u0 - u1 <= 18 * 320
        assert u0 % 320 == u1 % 320 == 0
        assert all(6 - 0.01 <= gap <= 12 + 0.01 for gap in gaps_to(piece, wall, layout.origin))


def test_a_wall_that_leans_less_than_the_play_is_cut_square() -> None:
    # 4 mm over 1216: 2 mm over a tile
    job = job_of(HEAD + area_text([(0, 0), (1643, 0), (1639, 1216), (0, 1216)]))
    for piece in layout_of(job).pieces:
        assert {p[0] % 320 for p in piece.shape.outline} == {0}
        (u0, _), (u1, _) = piece.shape.chords[0]
        assert u0 == u1


@pytest.mark.parametrize(("mark", "step"), [('"1 mm"', 320), ('"1/16 in"', 508), ('"5 mm"', 1600)])
def test_the_finest_mark_is_kept(mark: str, step: int) -> None:
    # 1/16 in = 8128 / 16 = 508 ticks (1 in = 25.4 mm exactly, NIST SP 811, App. B.8)
    job = room(1641.3, 1000.7, before=f"[job]\nmark = {mark}\n")
    pieces = layout_of(job).pieces
    assert len(pieces) == 4  # one at the right, two at the far wall, one in the corner
    for piece in pieces:
        reach = [max(p[axis] for p in piece.shape.outline) for axis in (0, 1)]
        assert all(at == 600 * 320 or at % step == 0 for at in reach)


def test_a_rip_slides_in_its_gap_off_a_narrow_fragment() -> None:
    # 180 mm would leave 6.7 mm of the third slat, which lies from 173.3 to 253.3.
    # Depth 6 + 604 + 180 + 9 = 799: allowed 183, needed 177. No mark in 177 to 183 is off the slat, so all are narrow:
    narrow = layout_of(room(1820, 799)).pieces
    assert {mm(max(v for _, v in piece.shape.outline)) for piece in narrow} <= {float(v) for v in range(177, 184)}
    # 176: allowed 179, needed 173; the mark at 173 lies in the gap between two slats, 166.7 to 173.3
    slid = layout_of(room(1820, 795)).pieces
    assert [mm(max(v for _, v in piece.shape.outline)) for piece in slid] == [173.0] * 3


#   ┌─────┬─────┐        a post in the corner of the first tile, 100 mm off both walls' lines:
#   │     │     │        the notch keeps 6 to 12 mm from it on both sides
#   ├─────┼─────┤
#   ├─┐   │     │
#   │▓│   │     │
#   └─┴───┴─────┘
def test_a_notch_around_a_corner_post_lies_on_marks() -> None:
    job = room(1216, 1216, more=post_text(60, 60, 120))
    (piece,) = layout_of(job).pieces
    # the post reaches to 120; from the tile's corner at 6: 114, and 6 to 12 of gap: 120 to 126
    assert len(piece.shape.notches) == 1
    inner = {p for p in piece.shape.notches[0].path if 0 < p[0] < 600 * 320 and 0 < p[1] < 600 * 320}
    ((u, v),) = inner
    assert u % 320 == v % 320 == 0
    assert 120 <= mm(u) <= 126
    assert 120 <= mm(v) <= 126
    assert piece.scribe  # rows move a little until a post's tiles lie: common practice, no source


@pytest.mark.parametrize("start", range(4))
def test_the_grid_runs_along_the_start_edge(start: int) -> None:
    # a room of 3 x 2 modules is one of 2 x 3 from its short sides
    layout = layout_of(job_of(f"{HEAD}start = {start}\n{area_text([(0, 0), (1820, 0), (1820, 1216), (0, 1216)])}"))
    assert len(layout.cells) == 6
    rows = {cell.row for cell in layout.cells}
    assert len(rows) == (2 if start % 2 == 0 else 3)


def test_corners_listed_clockwise_are_the_same_room() -> None:
    corners = [(0.0, 0.0), (1643.0, 0.0), (1619.0, 1216.0), (0.0, 1216.0)]
    # edges by name: bottom, right, top, left; clockwise from the same corner: left, top, right, bottom
    there = job_of(HEAD + area_text(corners, ["wall", "flush", "open", "wall"]))
    back = job_of(f"{HEAD}start = 3\n" + area_text([corners[0], *corners[:0:-1]], ["wall", "open", "flush", "wall"]))
    one, other = layout_of(there), layout_of(back)
    assert (one.origin, one.cells, one.pieces) == (other.origin, other.cells, other.pieces)


def test_uncertainty_is_the_tapes_where_the_pitch_is_measured() -> None:
    # Directive 2014/32/EU, Annex X (MI-008), Table 1, class II: 0.3 + 0.2 L mm, L rounded up to the metre; its check
    # values are 5 m 1.3 mm and 10 m 2.3 mm. 8 modules are 4.83 m, 16 are 9.66 m.
    for modules, most in ((8, 1.3), (16, 2.3)):
        width = 6 + 604 * (modules - 1) + 420 + 9
        job = room(width, 622, lay='pitch = "604 mm"')
        (piece,) = layout_of(job).pieces
        assert mm(piece.uncertainty) == pytest.approx(most, abs=0.001)
        guessed = layout_of(room(width, 622)).pieces[0]
        # joints add n x 0.5 and the root of n x 1 mm (common practice, no source)
        expected = modules * 0.5 + math.hypot(math.sqrt(modules) * 1.0, most)
        assert mm(guessed.uncertainty) == pytest.approx(expected, abs=0.01)


def test_a_cut_surer_than_half_its_play_is_made_in_the_shop() -> None:
    near = layout_of(room(1643, 622, lay='pitch = "604 mm"')).pieces
    assert [piece.scribe for piece in near] == [False]  # 0.3 + 0.2 x 2 = 0.7 mm against 3
    far = layout_of(room(6 + 604 * 19 + 429, 622)).pieces
    assert [piece.scribe for piece in far] == [True]  # 20 joints: 10 + root(20 + ...) mm against 3
