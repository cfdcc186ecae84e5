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
from dataclasses import replace

import pytest

from cutopt.fit import Fit, Refusal, fit
from cutopt.geometry import Ring, polygon, ring_of
from cutopt.lengths import mm
from cutopt.rules import Rules
from cutopt.tile import Tile
from tests.jobs import room

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
    answer = fit(outline, tile, rules)
    assert isinstance(answer, Fit), answer
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


def test_ripped_to_588_keeps_the_holes() -> None:
    found = made(ripped(588))
    # hole at 560: 588 - 560 - 6 = 22 mm of wood, more than the 10 that it wants
    assert holes(found) == [(40, 40, "kept"), (40, 560, "kept"), (560, 40, "kept"), (560, 560, "kept")]
    assert [seat.state for seat in found.seats] == ["cut", "cut", "cut"]
    assert found.needs == ()


def test_ripped_to_420_drills_the_lost_holes() -> None:
    found = made(ripped(420))
    # 420 - 40 = 380; nearest screws of the fifth slat at 366.7 and 406.7: 13.3 mm off, 12 are wanted
    assert holes(found) == [(40, 40, "kept"), (40, 380, "drilled"), (560, 40, "kept"), (560, 380, "drilled")]
    assert driven(found) == 0
    # the last slat lies from 346.7 to 426.7: a fragment of 73.3 mm, its outer screws 13.3 from the new edge, 12 wanted
    last = found.fragments[-1]
    assert max(v for _, v in last.outline) - min(v for _, v in last.outline) == pytest.approx(73.33 * 320, abs=2)
    assert found.minutes == pytest.approx(2 * RULES.rate_hole)


def test_ripped_to_112_predrills_the_narrow_slat() -> None:
    found = made(ripped(112))
    # the second slat begins at 86.7: a fragment of 25.3 mm, one predrilled screw a crossing
    narrow = [drive for drives in found.drives for drive in drives if drive.predrilled]
    assert len(narrow) == 3
    assert found.warnings
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


@pytest.mark.parametrize(
    "short",
    [
        585,
        560,
    ],
)
def test_a_taper_gets_a_straight_backer_behind_it(short: int) -> None:
    found = made(ring((0, 0), (600, 0), (short, 600), (0, 600)))
    assert (short - 40, "open", None) in seats(found)  # behind the short side
    assert {(40, 40, "kept"), (40, 560, "kept")} <= set(holes(found))


def test_a_steeper_taper_gets_one_straight_backer_right_up_to_the_cut() -> None:
    # 40 behind the short side, the long corner would stand 70 past the bearing, and 60 is the most at a wall
    found = made(ring((0, 0), (600, 0), (540, 600), (0, 600)))
    moved = [seat for seat in found.seats if seat.state == "open"]
    assert len(moved) == 1
    assert 600 - (moved[0].u + moved[0].width / 2) / 320 <= 60


def test_a_corner_notch_gets_a_backer_behind_it() -> None:
    found = made(ring((115, 0), (600, 0), (600, 600), (0, 600), (0, 115), (115, 115)))
    assert found.seats[0].state == "cut"  # the first backer is shortened to v = 115
    assert mm(found.seats[0].span[0]) == 115
    assert (155, "open", None) in seats(found)  # 115 + 40
    near = [(u, v) for u, v, _ in holes(found)]
    assert any(math.dist(at, (155, 40)) < 20 for at in near)
    assert any(math.dist(at, (40, 155)) < 20 for at in near)


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
