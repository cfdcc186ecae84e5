"""Facts of the trade that plans keep (common practice, no source, unless one is named)."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from cutopt.checks import check
from cutopt.planfile import Plan
from cutopt.planfile.model import Source
from cutopt.planning import plan
from tests.jobs import post_text, room
from tests.plans import SITES, plan_named

# NDS 2018 App. L, Table L3: diameters of screws by number, inches
NDS_L3 = {6: 0.138, 7: 0.151, 8: 0.164, 9: 0.177, 10: 0.190, 12: 0.216}


@cache
def planned(width: float, depth: float, **more: object) -> Plan:
    return plan(room(width, depth, **more))  # type: ignore[arg-type]


@cache
def slab() -> Plan:
    """16 x 18 ft, 8 x 9 modules of 24 in, nothing around it."""
    return planned(16 * 304.8, 18 * 304.8, edges=("open",) * 4, tile="hardwood-24in")


@cache
def crosscut() -> Plan:
    """Two tiles and a strip of 420 mm along the slats: 6 + 2 x 604 + 420 + 9 = 1643."""
    return planned(1643, 1216)


@cache
def ripped() -> Plan:
    """Two rows and a strip of 420 mm across the slats."""
    return planned(1820, 1643)


def distance(point: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    """From a point to the stretch from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    t = max(0.0, min(1.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy)))
    return math.dist(point, (a[0] + t * dx, a[1] + t * dy))


def to_kerf(point: tuple[float, float], cut_path: tuple[tuple[float, float], ...], kerf: float) -> float:
    """From a point to the strip of a kerf's width that lies to the right of a path; nought inside."""
    best = math.inf
    for a, b in pairwise(cut_path):
        size = math.dist(a, b)
        nx, ny = (b[1] - a[1]) / size, (a[0] - b[0]) / size  # to the right, where the waste is
        far_a, far_b = (a[0] + nx * kerf, a[1] + ny * kerf), (b[0] + nx * kerf, b[1] + ny * kerf)
        ahead = ((point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])) / size
        aside = (point[0] - a[0]) * nx + (point[1] - a[1]) * ny
        if 0 <= ahead <= size and 0 <= aside <= kerf:
            return 0.0
        sides = ((a, b), (far_a, far_b), (a, far_a), (b, far_b))
        best = min(best, *(distance(point, p, q) for p, q in sides))
    return best


# --- sizes, tiles and supports


@pytest.mark.parametrize(
    ("tile", "length", "width"), [("20in", 20, 20), ("24in", 24, 24), ("24x48in", 48, 24)], ids=lambda v: str(v)
)
def test_inch_sizes_are_modules(tile: str, length: int, width: int) -> None:
    """20 x 20, 24 x 24 and 24 x 48 in with the joint in it; 1 in = 25.4 mm exactly (NIST SP 811, App. B.8)."""
    pitch = room(3000, 3000, tile=f"hardwood-{tile}").laying.pitch
    assert [side / 8128 for side in pitch] == [length, width]  # 8128 ticks are an inch


def test_a_slab_of_16_by_18_feet_takes_72_tiles_and_no_saw() -> None:
    made = slab()
    assert made.totals.tiles == made.totals.whole == made.totals.one_for_one == 72  # 8 x 9
    assert (made.totals.cut, made.sources, made.pieces, made.steps) == (0, (), (), ())
    assert made.totals.proven
    assert all(station in ("laying", "setting fences") for station in made.totals.minutes_by_station)
    assert made.totals.minutes_by_station["setting fences"] == 0
    assert not [line for line in made.buy if "blade" in line.item or "seal" in line.item]
    assert check(made) == ()


def test_most_of_the_field_lies_in_a_quarter_of_an_hour() -> None:
    assert 10 <= slab().totals.minutes_by_station["laying"] <= 20


def test_cutting_the_perimeter_takes_at_least_as_long_as_laying_the_field() -> None:
    """The same slab between walls, 40 mm short of the last modules, with two posts: about two hours, not ten."""
    posts = post_text(1500, 1500, 90, name="one") + post_text(3400, 3300, 90, name="two")
    made = planned(16 * 304.8 - 40, 18 * 304.8 - 40, tile="hardwood-24in", more=posts)
    laying = made.totals.minutes_by_station["laying"]
    assert made.totals.minutes - laying >= laying
    assert 60 <= made.totals.minutes <= 360


def test_supports_whole_halved_and_quartered() -> None:
    """Three by two tiles between walls: whole where four corners meet, half along a wall, a quarter in a corner."""
    #   q─────h─────h─────q
    #   │     │     │     │
    #   h─────w─────w─────h
    #   │     │     │     │
    #   q─────h─────h─────q
    made = planned(1820, 1216)
    assert Counter(support.shape for support in made.supports) == {"whole": 2, "half": 6, "quarter": 4}
    assert Counter(len(support.pins) for support in made.supports) == {4: 2, 2: 6, 1: 4}
    # halves and quarters come out of whole ones: 2 + 6 / 2 + 4 / 4 = 6
    (supports,) = [line for line in made.buy if line.item == "support"]
    assert supports.count >= 6


def test_the_slabs_supports_have_a_pin_for_each_corner() -> None:
    # 7 x 8 crossings of four corners, 2 x (7 + 8) along the sides, four corners
    assert Counter(len(support.pins) for support in slab().supports) == {4: 56, 2: 30, 1: 4}


# --- backers, screws and holes


def test_half_an_inch_off_an_end_keeps_backer_and_hole() -> None:
    # 600 - 12.7 = 587.3 mm of the tile; 6 + 2 x 604 + 587 + 9 = 1810: 584 to 590, middle 587
    made = planned(1810, 1216)
    assert {max(u for u, _ in piece.outline) for piece in made.pieces} == {587.0}
    for source in made.sources:
        assert {backer.state for backer in source.backers} <= {"kept", "shaved"}
        assert {screw.state for screw in source.screws} == {"kept"}
        assert {hole.state for hole in source.pin_holes} == {"kept"}
        assert source.screws_out == ()
    assert (made.totals.screws_moved, made.totals.holes_drilled) == (0, 0)


def test_a_crosscut_moves_the_last_backer_with_its_pin_holes() -> None:
    made = crosscut()
    assert {max(u for u, _ in piece.outline) for piece in made.pieces} == {420.0}
    assert made.totals.holes_drilled == 0
    assert not [step for step in made.steps if step.do == "drill"]
    for source in made.sources:
        for piece in {placement.piece for placement in source.placements}:
            moved = [b for b in source.backers if b.piece == piece and b.state == "moved"]
            assert len(moved) == 1
            (wood,) = [b.from_ for b in moved]
            assert wood is not None
            assert wood.backer in (1, 3)  # an outer one, which has the holes
            brought = [h for h in source.pin_holes if h.piece == piece and h.backer == moved[0].id]
            assert [hole.state for hole in brought] == ["moved", "moved"]


def test_a_rip_loses_holes_and_they_are_drilled_anew() -> None:
    made = ripped()
    assert {max(v for _, v in piece.outline) for piece in made.pieces} == {420.0}
    for source in made.sources:
        for piece in {placement.piece for placement in source.placements}:
            states = Counter(hole.state for hole in source.pin_holes if hole.piece == piece)
            assert states == {"kept": 2, "drilled": 2}
    drills = [step for step in made.steps if step.do == "drill"]
    assert drills
    assert all("guide" in step.text for step in drills)
    # a support is the guide, good for 10 to 12 holes
    assert 10 <= made.rules["guide_holes"] <= 12


def screws_in(plan: Plan, source: Source) -> list[tuple[float, float]]:
    """The tile's own screws that are in while it is sawn."""
    return [(screw.u, screw.v) for screw in plan.tile.screws if screw.id not in source.screws_out]


@pytest.mark.parametrize("site", SITES)
def test_no_screw_is_ever_sawn(site: str) -> None:
    """Those in the way come out first: 10 mm of clearance from the kerf."""
    made = plan_named(site)
    clearance = made.rules["screw_clearance"]
    assert clearance == 10
    near = [
        to_kerf(at, cut.path, cut.kerf)
        for source in made.sources
        for cut in source.cuts
        for at in screws_in(made, source)
    ]
    assert min(near) >= clearance - 0.01


def test_some_screws_would_be_sawn_if_none_came_out() -> None:
    """Or the test above would hold for want of cases."""
    made = plan_named("demo")
    all_in = [(screw.u, screw.v) for screw in made.tile.screws]
    near = [to_kerf(at, cut.path, cut.kerf) for source in made.sources for cut in source.cuts for at in all_in]
    assert min(near) < made.rules["screw_clearance"]


@pytest.mark.parametrize("site", SITES)
def test_screws_keep_the_distances_of_the_nds(site: str) -> None:
    """New screws: 2.5 D to an edge and 5 D to an end of the slat (NDS Commentary Table C12.1.5.7, prebored, advisory),
    D from NDS 2018 App. L, Table L3; or what the uncut tile has, if that is less."""
    made = plan_named(site)
    diameter = NDS_L3[made.tile.gauge] * 25.4
    slats = {slat.id: slat.v for slat in made.tile.slats}
    own_edge = min(min(s.v - slats[s.slat][0], slats[s.slat][1] - s.v) for s in made.tile.screws)
    own_end = min(min(s.u, made.tile.length - s.u) for s in made.tile.screws)
    for source in made.sources:
        fragments = {(f.piece, f.slat): f.outline for f in source.slats}
        for screw in source.screws:
            ring = fragments[screw.piece, screw.slat]
            least = 12.0 if screw.state == "kept" else min(2.5 * diameter, own_edge)
            at = (screw.u, screw.v)
            edges = list(zip(ring, (*ring[1:], *ring[:1]), strict=True))
            assert min(distance(at, a, b) for a, b in edges) >= min(least, own_edge, own_end) - 0.01
            if screw.state != "kept":
                across = [distance(at, a, b) for a, b in edges if a[0] == b[0]]  # square ends
                assert min(across, default=math.inf) >= min(5 * diameter, own_end) - 0.01


@pytest.mark.parametrize("number", NDS_L3)
def test_screw_diameters_are_those_of_the_nds(number: int) -> None:
    tile = replace(room(1820, 1216).tile, gauge=number)
    assert tile.screw_diameter / 8128 == pytest.approx(NDS_L3[number], abs=0.0006)  # 8128 ticks are an inch


# --- edges


def test_a_ripped_edge_is_not_sealed_and_end_grain_is() -> None:
    assert ripped().sources
    for source in ripped().sources:
        # backers are ripped off across their grain, so their ends are sealed; the slat's long edge is not
        assert all(end.thickness == ripped().tile.backer_thickness for end in source.sealed)
        assert {end.path[0][1] for end in source.sealed} == {420.0} or source.placements[0].half_turn
    for source in crosscut().sources:
        for piece in {placement.piece for placement in source.placements}:
            ends = [end for end in source.sealed if end.piece == piece]
            assert len(ends) == 7  # a cut end of each slat
            assert all(end.thickness == crosscut().tile.slat_thickness for end in ends)
            assert all(end.path[0][0] == end.path[1][0] for end in ends)  # along the cut


@pytest.mark.parametrize("site", SITES)
def test_sealed_ends_lie_across_the_grain(site: str) -> None:
    made = plan_named(site)
    for source in made.sources:
        for end in source.sealed:
            (u0, v0), (u1, v1) = end.path[0], end.path[-1]
            if end.thickness == made.tile.slat_thickness:
                assert abs(v1 - v0) > math.sin(math.radians(9.9)) * math.dist(end.path[0], end.path[-1])
            else:
                assert abs(u1 - u0) > abs(v1 - v0)


# --- slivers, rows and posts


def test_the_best_start_leaves_no_sliver_at_the_far_wall() -> None:
    """A strip of a quarter or half an inch is not acceptable; trimming the first row is the usual way out."""
    # after three columns 1818 mm are gone with the joint: 1838 - 12 - 1818 = 8 to 14 mm are left to cover
    full = planned(1838, 1216, grid='"full-first"')
    assert {left.rule for cell in full.areas[0].cells for left in cell.left} == {"thinnest_across"}
    best = planned(1838, 1216, grid='"best"')
    assert [left for cell in best.areas[0].cells for left in cell.left] == []
    widths = {max(u for u, _ in p.outline) - min(u for u, _ in p.outline) for p in best.pieces}
    assert min(widths) >= best.rules["thinnest_across"]
    assert check(best) == ()


def test_one_whole_row_along_the_start_wall() -> None:
    """It looks best: full-first lays whole tiles along it."""
    made = planned(3000, 1900)
    (area,) = made.areas
    first = min(cell.row for cell in area.cells)
    row = [cell for cell in area.cells if cell.row == first]
    assert [cell.kind for cell in sorted(row, key=lambda c: c.col)][:-1] == ["whole"] * (len(row) - 1)


def test_pieces_round_posts_are_cut_on_site() -> None:
    """A post's last notch is cut when a few rows lie, because the rows move a little until then."""
    for made in (plan_named("demo"), planned(1216, 1216, more=post_text(60, 60, 120), lay='pitch = "604 mm"')):
        notched = [piece for piece in made.pieces if reentrant(piece.outline)]
        assert notched
        assert all(piece.fit == "scribe" for piece in notched)
        where = {piece: step.where for step in made.steps for piece in step.pieces if step.do == "label"}
        assert all(where[piece.id] == "site" for piece in notched)


def reentrant(ring: tuple[tuple[float, float], ...]) -> bool:
    """Whether an anticlockwise ring turns right somewhere."""
    corners = zip((ring[-1], *ring[:-1]), ring, (*ring[1:], ring[0]), strict=True)
    return any((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < -1 for a, b, c in corners)


def test_a_blade_makes_three_kerfs_of_four_pieces() -> None:
    """Four 2 ft pieces do not come out of 8 ft: three kerfs short. Two halves do not come out of a tile: one short.

    6 + 2 x 604 + 300 + 9 = 1523: two strips of 300 (297 to 303) take a tile each, two of 298 (1521) share one.
    """
    halves = planned(1523, 1216)
    assert {max(u for u, _ in piece.outline) for piece in halves.pieces} == {300.0}
    assert halves.totals.cut == 2
    less = planned(1521, 1216)
    assert {max(u for u, _ in piece.outline) for piece in less.pieces} == {298.0}
    assert less.totals.cut == 1
