"""Slats that an oblique cut runs out thin end square before their tips (common practice, no source).

Tile 600 x 600 mm, slats of 80 at 0, 86.67, 173.33, 260, 346.67, ...; a screw of #8: 4.166 mm thick, 10.4 mm to an edge
and 20.8 mm to an end; backers 60 wide; a slat may reach 90 mm past its last backer.
"""

from __future__ import annotations

import pytest
import shapely

from cutopt.geometry import Ring
from cutopt.lay import Shape, Way, cell_ways, lay, starts
from cutopt.lay.tips import untipped
from tests.jobs import area_text, job_of, room, surveyed


def taper(low: int, high: int) -> Shape:
    """A tile cut from (600, high) to (0, low), the wood below."""
    chord = ((600 * 320, high * 320), (0, low * 320))
    return Shape(outline=((0, 0), (600 * 320, 0), *chord), chords=(chord,), notches=())


def path_of(shape: Shape) -> list[tuple[float, float]]:
    (notch,) = shape.notches
    return [(round(u / 320, 1), round(v / 320, 1)) for u, v in notch.path]


#  the cut rises by 0.2, v = 300 + 0.2 u, and runs slat 5, from 346.67, out at u = 233.3. It leaves end grain (11.3
#  degrees), so a screw wants 10.4 + 20.8 x root(1 + 0.04) = 31.7 mm of width. A backer's middle may be 90 + 30 mm from
#  the slat's end, where the slat is 24 mm wider than at its end: 31.7 - 24 + 2 to spare = 9.7 mm. The cut is that high
#  at u = 281.7, on a mark 282; in the slat gap, 340 to 346.7, it runs on at 343, up to the oblique cut at u = 215
def test_a_slat_ends_where_a_screw_within_reach_finds_wood() -> None:
    area = surveyed(room(1216, 1216))
    first, second = untipped(taper(300, 420), area)
    assert path_of(first) == [(282, 356.4), (282, 343), (215, 343)]
    gone = shapely.Polygon(taper(300, 420).outline).area - shapely.Polygon(first.outline).area
    assert gone / 320**2 == pytest.approx((282 - 215) * (356.4 - 343) / 2, rel=1e-2)
    # then with 10 mm more to spare: 50 mm further on
    assert path_of(second)[0][0] in (331, 332)
    assert first.chords == taper(300, 420).chords


def test_a_steeper_cut_leaves_no_tip() -> None:
    # rise 0.5: 90 mm from its end a slat is 45 mm wide
    assert list(untipped(taper(100, 400), surveyed(room(1216, 1216)))) == []


def test_all_ways_round_a_tile_agree() -> None:
    """A half turn and both mirror images of a piece lose as much, to a mark."""
    area = surveyed(room(1216, 1216))
    lost = []
    for turn_u, turn_v in ((False, False), (True, True), (True, False), (False, True)):

        def seen(p: tuple[int, int], turn_u: bool = turn_u, turn_v: bool = turn_v) -> tuple[int, int]:
            return (192_000 - p[0] if turn_u else p[0], 192_000 - p[1] if turn_v else p[1])

        given = taper(300, 420)
        ring = tuple(seen(p) for p in given.outline)
        (a, b) = given.chords[0]
        if turn_u != turn_v:
            ring, (a, b) = ring[::-1], (b, a)
        (first, *_) = untipped(Shape(outline=ring, chords=((seen(a), seen(b)),), notches=()), area)
        assert shapely.Polygon(first.outline).is_valid
        lost.append((shapely.Polygon(ring).area - shapely.Polygon(first.outline).area) / 320**2)
    assert max(lost) - min(lost) < 0.5


#  a room whose far wall leans: its cells' tapers run slats out thin
def test_tips_are_a_way_of_their_cell_and_what_they_leave_open_is_listed() -> None:
    rules = set()
    for way in ways_by_a_leaning_wall(790, 1040):
        if any(piece.shape.notches for piece in way.pieces):
            rules |= {left.rule for left in way.left}
        for left in way.left:  # within 32 mm of the walls where it is said to be a gap
            off = max(from_walls(p, 790, 1040) for p in left.outline)
            assert left.rule != "dropped_gap" or off <= 32.02
    assert rules == {"dropped_gap", "fragment_least"}


def test_what_is_no_gap_says_what_gap_would_do() -> None:
    """The gap between two slats beside it counts too: the next slat's edge is up to 6.7 mm further from the wall."""
    named = 0
    for way in ways_by_a_leaning_wall(760, 1100):
        for left in way.left:
            off = max(from_walls(p, 760, 1100) for p in densely(left.outline))
            if "if dropped_gap were" in left.why:
                (gap,) = (int(word) for word in left.why.split() if word.isdigit())
                assert 32 < gap <= 60
                assert gap - 8 <= off <= gap
                named += 1
            elif left.rule == "fragment_least":
                assert off > 52
                assert "no gap up to 60 mm" in left.why
    assert named


def ways_by_a_leaning_wall(low: int, high: int) -> list[Way]:
    """All ways of the cells that are cut in a room of 1216 mm whose far wall runs from (0, low) to (1216, high)."""
    job = job_of('[tile]\nuse = "hardwood-600"\n' + area_text([(0, 0), (1216, 0), (1216, high), (0, low)]))
    area = surveyed(job)
    layout = lay(area, starts(area)[0])
    return [way for cell in layout.cells if cell.kind == "cut" for way in cell_ways(layout, cell, area)]


def from_walls(point: tuple[float, float], low: int, high: int) -> float:
    """Millimetres from a point in ticks to the nearest wall of that room."""
    room_ = shapely.Polygon([(0, 0), (1216, 0), (1216, high), (0, low)])
    return float(room_.exterior.distance(shapely.Point(point[0] / 320, point[1] / 320)))


def densely(ring: Ring) -> list[tuple[float, float]]:
    """Points along a ring, a millimetre apart."""
    return [(x, y) for x, y in shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), 320.0))]
