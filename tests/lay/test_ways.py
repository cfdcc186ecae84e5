"""Other ways to fill a cell, for where the carpentry refuses the preferred one: slide within the gap, then drop.

Room 1820 mm wide and two rows deep, so that the second row is ripped at the far wall. Slats of 80 mm at 0, 86.67,
173.33, ...; the second row begins at 6 + 604 = 610.
"""

from __future__ import annotations

import pytest
import shapely

from cutopt.errors import NoPlan
from cutopt.gridchoice import Chooser, Grid
from cutopt.job.records import Job
from cutopt.lay import Way, cell_ways, emptied, lay, refilled, starts
from cutopt.lengths import mm
from tests.jobs import area_text, carpenter_of, job_of, post_text, room, surveyed
from tests.lay.test_rounds import round_post

HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n'


def ways_at(job: Job, row: int, col: int) -> list[Way]:
    area = surveyed(job)
    layout = lay(area, starts(area)[0])
    (cell,) = [cell for cell in layout.cells if (cell.row, cell.col) == (row, col)]
    return list(cell_ways(layout, cell, area))


def heights(ways: list[Way]) -> list[float]:
    return [mm(max(v for _, v in piece.shape.outline)) for way in ways for piece in way.pieces]


def chosen(job: Job) -> Grid:
    """The job's only area worked out at its only grid start."""
    return Chooser(areas=[surveyed(job)], job=job, carpenter=carpenter_of(job), progress=None).choose().ranked[0]


#  the wall is at 798 - 610 = 188 of the second row: 176 to 182 may be cut; the third slat begins at 173.33, so each
#  leaves a fragment of 3 to 9 mm. Best 179, the middle; widest 182; narrowest 176; and dropped, in the slat gap from
#  166.67 to 173.33: 170. The slat's edge is then 188 - 166.67 = 21.3 mm from the wall, less than 32
def test_a_rip_slides_then_drops_its_fragment() -> None:
    found = ways_at(room(1820, 798), 1, 0)
    assert heights(found) == [179, 182, 176, 170]
    assert [[left.rule for left in way.left] for way in found] == [[], [], [], ["dropped_gap"]]
    # open: from 170 to 176, where the most gap begins; along from 6, where that of the wall at the left ends
    assert found[-1].left[0].area2 / 2 == pytest.approx(594 * 6 * 320**2, rel=2e-3)
    assert "fragment" in found[-1].left[0].why


#  the wall at 809 - 610 = 199: 187 to 193 may be cut, 14 to 20 mm of fragment. In the slat gap the wood's edge would be
#  199 - 166.67 = 32.3 mm from the wall, more than 32: left open by the rule for narrow fragments, not as dropped
@pytest.mark.parametrize(("depth", "rule"), [(808.0, "dropped_gap"), (809.0, "fragment_least")])
def test_the_dropped_gap_has_its_limit(depth: float, rule: str) -> None:
    found = ways_at(room(1820, depth), 1, 0)
    assert heights(found)[-1] == 170
    assert [left.rule for left in found[-1].left] == [rule]


def test_a_fragment_wide_enough_is_not_dropped() -> None:
    # the wall at 230: 218 to 224 leave 45 to 51 mm of the third slat
    assert not any(way.left for way in ways_at(room(1820, 840), 1, 0))


#  a post's notch whose leg at v = 102 leaves 102 - 86.67 = 15 mm of the second slat beside it: the leg goes on into the
#  slat gap, 80 to 86.67, on a mark at 83; the post begins at 111 - the wood's edge at 80 is 31 mm away
#   ┌──────┐
#   │   ┌──┤
#   │   │▓▓
#   │   └──┤   <- neck of 15 mm
#   └──────┘
def test_a_neck_beside_a_notch_is_dropped() -> None:
    post = '[[area.post]]\nname = "p"\ncorners = [[530.0, 117.0], [700.0, 117.0], [700.0, 277.0], [530.0, 277.0]]\n'
    found = ways_at(room(1216, 1216, more=post), 0, 0)
    legs = [{mm(v) for way in [one] for p in way.pieces for n in p.shape.notches for _, v in n.path} for one in found]
    assert legs[0] == {102.0, 280.0}
    assert legs[-1] == {83.0, 280.0}
    assert [left.rule for left in found[-1].left] == ["dropped_gap"]


#  a wall that falls from 900 to 640 over two tiles leaves, in the second row and column, 22 to 150 mm: of the second
#  slat, from 86.7 on, a tip of 63 x 300. Without it the piece ends between the slats, at 83
def test_the_tip_of_a_slat_is_left_out() -> None:
    job = job_of(HEAD + area_text([(0, 0), (1216, 0), (1216, 640), (0, 900)]))
    found = ways_at(job, 1, 1)
    tops = [max(mm(v) for piece in way.pieces for _, v in piece.shape.outline) for way in found]
    assert tops[0] == 150
    assert 83 in tops
    assert all(way.left for way, top in zip(found, tops, strict=True) if top == 83)


#  a wall that leans by 9 degrees across the slats: each slat is cut, 600 to 400 mm of it stay, none is a tip
def test_slats_that_are_cut_across_but_long_are_not_left_out() -> None:
    job = job_of(HEAD + area_text([(0, 0), (1216, 0), (1020, 1216), (0, 1216)]))
    for row in (0, 1):
        sizes = {(min(vs), max(vs)) for way in ways_at(job, row, 1) for vs in [heights_of(way)]}
        assert len(sizes) == 1


def heights_of(way: Way) -> list[float]:
    return [mm(v) for piece in way.pieces for _, v in piece.shape.outline]


def test_no_cell_has_many_ways() -> None:
    for more in (post_text(300, 300, 115), post_text(300, 80, 110), post_text(60, 60, 120)):
        assert 1 <= len(ways_at(room(1216, 1216, more=more), 0, 0)) <= 8


def test_refilling_replaces_all_of_a_cell_and_frees_its_neighbours() -> None:
    area = surveyed(room(1820, 798))
    layout = lay(area, starts(area)[0])
    (cell,) = [cell for cell in layout.cells if (cell.row, cell.col) == (1, 1)]
    dropped = tuple(cell_ways(layout, cell, area))[-1]
    other = refilled(layout, {(1, 1): dropped}, area)
    heights_of = {p.col: mm(max(v for _, v in p.shape.outline)) for p in other.pieces if p.row == 1}
    assert heights_of == {0: 179, 1: 170, 2: 179}
    gone = refilled(layout, {(1, 1): Way(pieces=(), left=dropped.left)}, area)
    fixed = {p.col: sorted(p.fixed) for p in gone.pieces if p.row == 1}
    assert fixed == {0: ["v0"], 2: ["v0"]}  # before, each faced the piece in the middle as well
    assert {p.col: sorted(p.fixed) for p in layout.pieces if p.row == 1 and p.col != 1} == {
        0: ["u1", "v0"],
        2: ["u0", "v0"],
    }


#  a round post by the crossing of four tiles: in the upper ones its arc leaves a neck of 80 - 74 = 6 mm beside the
#  first slat's edge, which the carpentry refuses wherever the arc slides; then it is cut square, up to the slat gap
def test_the_carpentrys_refusal_leads_to_the_next_way() -> None:
    best = chosen(room(1216, 1216, more=round_post(620.0, 620.0, 110.0)))
    (layout,) = best.layouts
    assert {cell.kind for cell in layout.cells} == {"cut"}
    above = [piece for piece in layout.pieces if piece.row == 1]
    assert len(above) == 2
    for piece in above:
        (notch,) = piece.shape.notches
        assert notch.radius is None
        assert {mm(v) for _, v in notch.path} == {0.0, 83.0}
    assert {left.rule for cell in layout.cells for left in cell.left} <= {"post_gap", "dropped_gap"}


def test_what_no_way_makes_is_left_open_with_its_reason() -> None:
    # a strip of 34 mm at the far wall: no way at all
    best = chosen(room(1820, 1254))
    rules = [left.rule for cell in best.layouts[0].cells for left in cell.left]
    assert rules == ["thinnest_strip"] * 3
    with pytest.raises(NoPlan):
        chosen(room(120, 60))


def test_a_cell_that_is_emptied_lists_its_ground_once() -> None:
    """The strip of a dropped fragment belongs to the open ground once the piece beside it goes as well."""
    area = surveyed(room(1820, 798))
    layout = lay(area, starts(area)[0])
    (cell,) = [cell for cell in layout.cells if (cell.row, cell.col) == (1, 1)]
    dropped = tuple(cell_ways(layout, cell, area))[-1]
    assert [left.rule for left in dropped.left] == ["dropped_gap"]
    gone = emptied(layout, cell, dropped, {dropped.pieces[0].shape: ("longest_overhang", "because")}, area)
    assert gone.pieces == ()
    (left,) = gone.left
    assert (left.rule, left.why) == ("longest_overhang", "because")
    # all that is to be covered: from the tile's side v0 to 12 mm from the wall at 188
    assert left.area2 / 2 == pytest.approx(600 * 176 * 320**2, rel=1e-3)


def test_a_half_that_goes_leaves_the_other_as_it_is() -> None:
    area = surveyed(room(1216, 1216, more=post_text(300, 300, 115)))
    layout = lay(area, starts(area)[0])
    (cell,) = [cell for cell in layout.cells if cell.kind != "whole"]
    way = next(iter(cell_ways(layout, cell, area)))
    low, high = sorted(way.pieces, key=lambda piece: max(v for _, v in piece.shape.outline))
    rest = emptied(layout, cell, way, {high.shape: ("one_whole", "because")}, area)
    assert rest.pieces == (low,)
    (left,) = rest.left
    wood = shapely.Polygon(high.shape.outline).area
    assert wood * 0.93 < left.area2 / 2 < wood * 1.02
