"""Pieces worked by hand: what a good carpenter does (our own arithmetic; common practice, no source).

Tile 600 x 600 mm: seven slats of 80 with gaps of 6.67, three backers of 60 at u = 40, 300 and 560 from v = 6 to 594,
two screws a crossing 20 mm off the slat's edges, pin holes of 12 at 40 from both edges in the outer backers.

        v
    600 ┌──╥───────╥───────╥──┐
        │  ║ o     ║       ║ o│      o  pin hole
        │  ║       ║       ║  │      ║  backer, under the slats, which run left to right
        │  ║ o     ║       ║ o│
      0 └──╨───────╨───────╨──┘ u
        0  40     300     560 600
"""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from cutopt.checks import check
from cutopt.fit import Fit, Refusal, fit
from cutopt.geometry import Ring, polygon, ring_of
from cutopt.lengths import mm
from cutopt.planning import plan
from cutopt.rules import Rules
from cutopt.tile import Tile
from tests.fit.casing import Case, board_of
from tests.fit.judging import judge
from tests.fit.shapes import KINDS, LONE_SCREW, NAMED, Anatomy, drawn_piece
from tests.jobs import post_text, room

JOB = room(1820, 1216)
TILE, RULES = JOB.tile, JOB.rules
# NDS 2018 App. L, Table L3: a #8 screw has D = 0.164 in = 4.17 mm; NDS Commentary Table C12.1.5.7, prebored: 2.5 D to
# an edge, 5 D to an end
D = 0.164 * 25.4


def ring(*points: tuple[float, float]) -> Ring:
    return ring_of(polygon([(round(u * 320), round(v * 320)) for u, v in points]))


def across(to: float) -> Ring:
    """Crosscut: u from 0 to `to`."""
    return ring((0, 0), (to, 0), (to, 600), (0, 600))


def ripped(to: float) -> Ring:
    """Ripped: v from 0 to `to`."""
    return ring((0, 0), (600, 0), (600, to), (0, to))


def made(outline: Ring, tile: Tile = TILE, rules: Rules = RULES) -> Fit:
    """The fit of a piece that can be made, every rule kept: less work than told here is welcome, a broken rule not."""
    answer = fit(outline, tile, rules)
    assert isinstance(answer, Fit), answer
    assert judge(Case(tile=tile, rules=rules, outline=outline), answer) == []
    return answer


def seats(found: Fit) -> list[tuple[float, str, int | None]]:
    return [(mm(seat.u), seat.state, seat.backer) for seat in found.seats]


def holes(found: Fit) -> list[tuple[float, float, str]]:
    return sorted((mm(stand.hole[0]), mm(stand.hole[1]), stand.state) for stand in found.stands)


def driven(found: Fit) -> int:
    """Screws that go in anew."""
    return sum(drive.screw is None for drives in found.drives for drive in drives)


def test_across_to_588_leaves_all_in_place() -> None:
    found = made(across(588))
    # the blade takes 590 - 588 = 2 mm off the last backer: 530 to 588, centre line 559
    assert seats(found) == [(40, "kept", 1), (300, "kept", 2), (559, "shaved", 3)]
    assert mm(found.seats[2].width) == 58
    assert holes(found) == [(40, 40, "kept"), (40, 560, "kept"), (560, 40, "kept"), (560, 560, "kept")]
    assert (driven(found), found.minutes) == (0, 0)


def test_across_to_420_moves_the_last_backer_with_its_holes() -> None:
    found = made(across(420))
    assert seats(found) == [(40, "kept", 1), (300, "kept", 2), (380, "open", None)]  # 420 - 40
    assert holes(found) == [(40, 40, "kept"), (40, 560, "kept"), (380, 40, "moved"), (380, 560, "moved")]
    assert driven(found) == 14  # two a crossing, seven slats
    assert found.needs == (588 * 320,)  # a whole backer, 6 to 594
    # one backer hung, 14 screws in again; the bench counts what it takes to get the backer off where it comes from
    assert found.minutes >= RULES.rate_backer + 14 * RULES.rate_screw_in


def test_across_to_180_hangs_two_backers() -> None:
    found = made(across(180))
    assert seats(found) == [(40, "kept", 1), (140, "open", None)]  # 180 - 40
    assert holes(found)[2:] == [(140, 40, "moved"), (140, 560, "moved")]


def test_across_to_112_hangs_two_ripped_backers() -> None:
    # 112 less a set-back of 10 at each end are 92: no room for 60 + 60, but for 40 + 40, as from 16 to 56 and from 62
    # to 102, or as good: side by side, no end more than 60 mm (at the wall) past the bearing
    found = made(across(112))
    assert len(found.seats) == 2
    low, high = found.seats
    assert (mm(low.width), mm(high.width)) == (40, 40)
    assert mm(low.u) + 20 <= mm(high.u) - 20
    assert mm(high.u) + 20 <= 112 - 10
    # a rim of 12 mm leaves 40 / 2 - 6 = 14 mm of wood on the centre line, so that a hole may lie up to 4 mm off it
    at = sorted({u for u, _, _ in holes(found)})
    assert all(min(abs(u - mm(low.u)), abs(u - mm(high.u))) <= 4 for u in at)
    # the one that lies where the tile's first lay goes into the slats' own holes: all 14 screws in each
    assert mm(low.u) == 40
    assert [len(drives) for drives in found.drives] == [14, 14]
    # each slat is shorter than 145 mm: two screws on one backer would do, and it has them
    for number in range(7):
        assert sum(d.fragment == number for drives in found.drives for d in drives) >= 2


def test_ripped_to_588_keeps_the_holes() -> None:
    found = made(ripped(588))
    # hole at 560: 588 - 560 - 6 = 22 mm of wood, more than the 10 that it wants
    assert holes(found) == [(40, 40, "kept"), (40, 560, "kept"), (560, 40, "kept"), (560, 560, "kept")]
    assert [seat.state for seat in found.seats] == ["cut", "cut", "cut"]
    assert found.needs == ()
    # the outer screws of the last slat, at 580, are 8 mm from the cut and come out; 12 are wanted
    assert driven(found) == 0
    assert found.minutes == pytest.approx(3 * RULES.rate_screw_out)


def test_the_support_at_a_rip_to_588_is_trimmed() -> None:
    """Its hole stays at 560, so the pad's middle is at 602, 2 mm past the uncut tile: 14 mm would stand in the gap."""
    # 6 + 604 + 588 + 9 = 1207 deep: a row of whole tiles, and one ripped to 588 (585 to 591, middle 588)
    planned = plan(room(1820, 1207))
    assert {max(v for _, v in piece.outline) for piece in planned.pieces} == {588.0}
    assert check(planned) == ()
    far = [support for support in planned.supports if support.at[1] > 1100]
    assert far
    for support in far:
        assert max(y for _, y in support.outline) <= 6 + 604 + 588 + 0.01


def test_ripped_to_420_drills_the_lost_holes() -> None:
    found = made(ripped(420))
    # 420 - 40 = 380; nearest screws of the fifth slat at 366.7 and 406.7: 13.3 mm off, 12 are wanted
    assert holes(found) == [(40, 40, "kept"), (40, 380, "drilled"), (560, 40, "kept"), (560, 380, "drilled")]
    assert driven(found) == 0
    # the last slat lies from 346.7 to 426.7: a fragment of 73.3 mm, its outer screws 13.3 from the new edge, 12 wanted
    last = found.fragments[-1]
    assert max(v for _, v in last.outline) - min(v for _, v in last.outline) == pytest.approx(73.33 * 320, abs=2)
    assert found.minutes == pytest.approx(2 * RULES.rate_hole)


def test_ripped_to_127_with_one_screw_a_crossing_drives_three_again() -> None:
    # the second slat lies from 86.7 to 166.7, its only screws at 126.7, in the cut: out with three. What is left is
    # 40.3 wide: a new screw keeps 20 mm from the old hole, so 106.7 or less, and 2.5 D = 10.4 from its edge
    tile = LONE_SCREW.tile
    found = made(ripped(127), tile)
    new = [drive for drives in found.drives for drive in drives if drive.screw is None]
    assert len(new) == 3
    for drive in new:
        assert 86.67 + 2.5 * D - 0.01 <= mm(drive.at[1]) <= 106.7
    assert all(seat.state == "cut" for seat in found.seats)


def test_a_backer_that_is_ripped_goes_back_where_it_was() -> None:
    # two pieces of 113 out of one tile: of the four ripped boards one lies where the first backer lay, one where the
    # last did; these are the very ones, whose screws find their own holes
    planned = plan(room(1335, 1216))
    assert check(planned) == ()
    (source,) = planned.sources
    was = {backer.line[0][0]: backer.from_ for backer in source.backers}
    assert [wood and wood.backer for wood in (was[40], was[560])] == [1, 3]


def test_ripped_to_112_predrills_the_narrow_slat() -> None:
    found = made(ripped(112))
    # the second slat begins at 86.7: a fragment of 25.3 mm, one predrilled screw a crossing
    narrow = [drive for drives in found.drives for drive in drives if drive.predrilled]
    assert len(narrow) == 3
    for drive in narrow:
        assert mm(drive.at[1]) - 86.67 >= 2.5 * D - 0.01
        assert 112 - mm(drive.at[1]) >= 2.5 * D - 0.01


def across_of(found: Fit) -> list[tuple[int, float, float, bool]]:
    """Each fragment's slat, its extent across, and whether it is shared."""
    spans = [(f, [v for _, v in f.outline]) for f in found.fragments]
    return [(f.slat, round(mm(min(vs)), 2), round(mm(max(vs)), 2), f.shared) for f, vs in spans]


def test_ripped_to_180_shares_the_last_two_slats() -> None:
    # the third slat begins at 173.3, and 6.7 mm hold no screw; the second begins at 86.7: 93.3 less a gap of 6.67 are
    # two slats of 43.3, marked as 43 and what is left, 43.7
    found = made(ripped(180))
    assert across_of(found) == [(1, 0, 80, False), (2, 86.67, 129.67, True), (3, 136.33, 180, True)]
    for drives in found.drives:
        new = [drive for drive in drives if drive.fragment > 0]
        assert {drive.fragment for drive in new} == {1, 2}
        assert all(drive.screw is None for drive in new)  # both slats came off


def test_ripped_to_the_gap_of_two_slats_shares_nothing() -> None:
    assert across_of(made(ripped(173))) == [(1, 0, 80, False), (2, 86.67, 166.67, False)]


@pytest.mark.parametrize("short", [585, 560])
def test_a_taper_gets_a_straight_backer_behind_it(short: int) -> None:
    found = made(ring((0, 0), (600, 0), (short, 600), (0, 600)))
    (hung,) = [seat for seat in found.seats if seat.state == "open"]
    assert hung.lean == 0
    assert hung.u + hung.width / 2 <= short * 320  # behind the short side
    assert {(40, 40, "kept"), (40, 560, "kept")} <= set(holes(found))


def test_a_taper_from_600_to_540_gets_one_straight_backer() -> None:
    # the long corner stands 600 - (u + 30) past the backer: under 90 at the slat, at most 60 past the bearing at a wall
    found = made(ring((0, 0), (600, 0), (540, 600), (0, 600)))
    (moved,) = [seat for seat in found.seats if seat.state == "open"]
    assert moved.lean == 0
    assert 600 - (moved.u + moved.width / 2) / 320 <= 60


def test_a_screw_off_its_backers_line_has_wood_wide_enough_beside_it() -> None:
    """Behind the notch the sixth slat, which begins at 433.33, is cut obliquely: from 451 at u = 122 up to 471 at 600.

    It is wide enough at the middle backer, 451 + 20 x 178 / 478 - 433.33 = 25.1 mm; but to go clear of the old holes, a
    new screw would stand 19.6 mm off that line, where it is 25.1 - 20 x 19.6 / 478 = 24.3 mm wide: less than 25.
    """
    wedge = made(ring((0, 0), (600, 0), (600, 471), (122, 451), (122, 600), (0, 600)))
    sixth = next(n for n, fragment in enumerate(wedge.fragments) if fragment.slat == 6)
    us = [drive.at[0] / 320 for drives in wedge.drives for drive in drives if drive.fragment == sixth]
    assert all(451 + 20 * (u - 122) / 478 - 433.33 >= 25 for u in us if u > 122)


def test_a_corner_notch_gets_a_backer_behind_it() -> None:
    # the notch cuts slat 1 (0 to 80) and slat 2 (86.7 to 166.7): behind it, at 115 + 40 = 155, a short backer holds
    # them and the first backer is shortened to begin at 115
    found = made(ring((115, 0), (600, 0), (600, 600), (0, 600), (0, 115), (115, 115)))
    assert found.seats[0].state == "cut"
    assert mm(found.seats[0].span[0]) == 115
    (behind,) = [seat for seat in found.seats if seat.state == "open"]
    assert 115 + 30 <= mm(behind.u) <= 155
    assert mm(behind.span[0]) <= 20
    near = [(u, v) for u, v, _ in holes(found)]
    assert any(math.dist(at, (155, 40)) < 20 for at in near)
    assert any(math.dist(at, (40, 155)) < 20 for at in near)


# a post of 115 in the tile's middle, 242.5 to 357.5 both ways, 9 mm around it: split in the gap of the third and fourth
# slats (253.3 to 260), the halves are notched 233.5 to 366.5 along, and 233.5 or 366.5 deep
LOWER = ring((0, 0), (600, 0), (600, 256), (366.5, 256), (366.5, 233.5), (233.5, 233.5), (233.5, 256), (0, 256))
UPPER = ring((0, 257), (233.5, 257), (233.5, 366.5), (366.5, 366.5), (366.5, 257), (600, 257), (600, 600), (0, 600))


def test_the_half_below_an_enclosed_post_keeps_its_backers() -> None:
    # slat 3 keeps 233.5 - 173.3 = 60.2 mm beside the post; only backers are sawn at the split
    found = made(LOWER)
    assert [seat.backer for seat in found.seats if seat.state == "cut"] == [1, 2, 3]
    assert {f.slat for f in found.fragments} == {1, 2, 3}
    assert len(found.fragments) == 3


def test_the_half_above_an_enclosed_post_holds_the_slat_that_the_post_parts() -> None:
    # slat 4 (260 to 340) is in two, 233.5 long each side; slat 5 keeps 426.7 - 366.5 = 60.2 mm
    found = made(UPPER)
    assert [f.slat for f in found.fragments].count(4) == 2
    for number, fragment in enumerate(found.fragments):
        if fragment.slat == 4:  # longer than 145 mm: on two backers
            assert sum(any(d.fragment == number for d in drives) for drives in found.drives) >= 2


def test_an_enclosed_post_is_planned_and_its_tile_drilled_before_the_split() -> None:
    # in the middle of nine tiles both halves are fixed on the three sides beside neighbours, and so lie alike
    planned = plan(room(1820, 1820, more=post_text(910, 910, 115)))
    assert check(planned) == ()
    (cell,) = [cell for cell in planned.areas[0].cells if (cell.row, cell.col) == (1, 1)]
    assert not cell.left
    assert len(cell.pieces) == 2
    (source,) = [s for s in planned.sources if {p.piece for p in s.placements} == set(cell.pieces)]
    steps = [step for step in planned.steps if step.source == source.id]
    drilled = [step for step in steps if step.do == "drill"]
    assert {piece for step in drilled for piece in step.pieces} == set(cell.pieces)
    assert max(step.n for step in drilled) < min(step.n for step in steps if step.do == "cut")


def test_the_halves_of_a_split_piece_lie_as_in_their_cell_where_that_costs_no_more() -> None:
    planned = plan(room(1216, 1216, more=post_text(306, 306, 115)))
    (cell,) = [cell for cell in planned.areas[0].cells if (cell.row, cell.col) == (0, 0)]
    for source in planned.sources:
        if {p.piece for p in source.placements} == set(cell.pieces):
            assert all(not p.half_turn and p.shift == (0, 0) for p in source.placements)


@pytest.mark.parametrize("size", range(160, 600, 20))
@pytest.mark.parametrize("way", ["across", "ripped"])
def test_every_screw_keeps_its_distances(way: str, size: int) -> None:
    """NDS Commentary Table C12.1.5.7 (advisory): new screws; kept ones 12 mm from a new edge (common practice)."""
    found = fit(across(size) if way == "across" else ripped(size), TILE, RULES)
    if isinstance(found, Refusal):
        assert found.rule in ("fragment_least", "fragment_held")
        return
    kept = {screw.id: screw for screw in TILE.screws}
    for drives in found.drives:
        for drive in drives:
            u, v = mm(drive.at[0]), mm(drive.at[1])
            edge = size - (u if way == "across" else v)
            if drive.screw:
                assert drive.at == kept[drive.screw].at
                assert edge >= 12
            else:
                assert edge >= (5 if way == "across" else 2.5) * D - 0.01
            for stand in found.stands:
                assert math.dist(drive.at, stand.hole) >= 12 * 320


def test_a_larger_distance_never_makes_an_infeasible_piece_feasible() -> None:
    stricter = replace(RULES, kept_screw_edge=RULES.kept_screw_edge + 5 * 320, hole_wood=RULES.hole_wood + 3 * 320)
    shapes = [make(size) for size in range(80, 600, 13) for make in (across, ripped)]
    loose = [isinstance(fit(shape, TILE, RULES), Fit) for shape in shapes]
    strict = [isinstance(fit(shape, TILE, stricter), Fit) for shape in shapes]
    assert any(loose)
    assert all(a or not b for a, b in zip(loose, strict, strict=True))


def test_half_turned_pieces_agree() -> None:
    """The tile is its own half turn, so a piece and its half turn take the same work."""
    for outline in (across(420), ripped(420), across(588), ring((0, 0), (600, 0), (570, 600), (0, 600))):
        turned = ring_of(polygon([(600 * 320 - u, 600 * 320 - v) for u, v in outline]))
        one, other = made(outline), made(turned)
        assert one.minutes == pytest.approx(other.minutes)
        assert sorted((mm(s.u), s.state) for s in one.seats) == sorted((600 - mm(s.u), s.state) for s in other.seats)
        assert one.needs == other.needs


# tiles with two to four backers, one or two screws a crossing, asymmetric under a half turn, rectangular


@pytest.mark.parametrize("name", NAMED)
def test_a_strip_of_every_tile_can_be_cut_either_way(name: str) -> None:
    """Crosscut to what is left of a cell less 12 mm, and to half of it; ripped in the middle of its third slat."""
    anatomy: Anatomy = NAMED[name]
    tile = anatomy.tile
    third = tile.slats[2].v
    for outline in (
        ring((0, 0), (anatomy.length - 12, 0), (anatomy.length - 12, anatomy.width), (0, anatomy.width)),
        ring((0, 0), (anatomy.length / 2, 0), (anatomy.length / 2, anatomy.width), (0, anatomy.width)),
        ring((0, 0), (anatomy.length, 0), (anatomy.length, mm(sum(third) // 2) + 8), (0, mm(sum(third) // 2) + 8)),
    ):
        found = made(outline, tile)
        assert len(found.seats) >= 2
        assert len(found.stands) >= 2
    # less 12 mm nothing is hung anew: its last backer stays, shaved where the blade meets it
    end = anatomy.length - 12
    found = made(ring((0, 0), (end, 0), (end, anatomy.width), (0, anatomy.width)), tile)
    assert all(seat.state != "open" for seat in found.seats)


@pytest.mark.parametrize("name", NAMED)
def test_every_kind_of_piece_keeps_every_rule_or_is_refused(name: str) -> None:
    dice, accepted = random.Random(name), 0
    anatomy = NAMED[name]
    tile = anatomy.tile
    for kind in KINDS:
        outline = drawn_piece(dice.randint, anatomy, kind)
        answer = fit(outline, tile, RULES)
        if isinstance(answer, Fit):
            accepted += 1
            assert judge(Case(tile=tile, rules=RULES, outline=outline), answer) == [], kind
    assert accepted >= 4


def test_boards_side_by_side_are_told_from_boards_on_one_another() -> None:
    """The judge's own tools: 40 mm boards at 36 and 82 have 6 mm between them."""
    found = made(across(112))
    one, other = (board_of(seat) for seat in found.seats)
    assert one.intersection(other).area == 0
    assert one.area == pytest.approx(found.seats[0].width * found.seats[0].length)
