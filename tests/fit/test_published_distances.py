"""Every distance that the carpentry keeps, measured on whole plans from the plan file alone, in millimetres.

Published: D of a screw by its number (NDS 2018 App. L, Table L3); least distances of prebored screws (NDS Commentary
Table C12.1.5.7, advisory): 2.5 D to an edge, 5 D to an end where the load does not pull toward it, 5 D across the grain
between screws in a row. All else is common practice, no source. No load is reckoned with and no strength claimed: the
penetration of 6 D of NDS 12.1.5.6 is beyond a backer of 18 mm. Where the uncut tile itself keeps less, that is enough.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, pairwise

import pytest
import shapely

from cutopt.checks import check
from cutopt.planfile import Plan
from cutopt.planfile.model import Backer, Screw, Source
from cutopt.rules import load_rules
from tests.fit.shapes import LONE_SCREW, WORKED, corner_notch, placed, taper
from tests.fit.sites import site_of
from tests.jobs import area_text
from tests.plans import plan_of

NDS_L3 = {6: 0.138, 7: 0.151, 8: 0.164, 9: 0.177, 10: 0.190, 12: 0.216}  # diameters by number, inches


def strip(width: float, depth: float, *, tile: str = WORKED.text) -> str:
    """A job of one row or column of tiles and what is left beside it: 6 + 604 + ... + 9."""
    return f'{tile}[lay]\ngrid = "full-first"\n' + area_text([(0, 0), (width, 0), (width, depth), (0, depth)])


PLANS = {
    "crosscut to 420": strip(6 + 604 + 420 + 9, 612),
    "crosscut to 112": strip(6 + 604 + 112 + 9, 612),
    "crosscut to 588": strip(6 + 604 + 588 + 9, 612),
    "ripped to 420": strip(612, 6 + 604 + 420 + 9),
    "ripped to 112": strip(612, 6 + 604 + 112 + 9),
    "ripped to 180": strip(612, 6 + 604 + 180 + 9),
    "ripped to 127, one screw": strip(612, 6 + 604 + 127 + 9, tile=LONE_SCREW.text),
    "notched": WORKED.text + site_of(placed(corner_notch(WORKED, 115, 115), WORKED, 3), WORKED),
    "tapered": WORKED.text + site_of(taper(WORKED, 590, 540), WORKED),
}
each_plan = pytest.mark.parametrize("name", PLANS)


def planned(name: str) -> Plan:
    return plan_of(PLANS[name])


def board(backer: Backer) -> shapely.Polygon:
    return shapely.LineString(backer.line).buffer(backer.width / 2, cap_style="flat")


def pieces(plan: Plan) -> Iterator[tuple[Source, str, shapely.Polygon]]:
    """Each piece on its source, and where it lies there."""
    tile = plan.tile
    for source in plan.sources:
        for place in source.placements:
            piece = next(p for p in plan.pieces if p.id == place.piece)
            du, dv = place.shift
            moved = [
                (du + tile.length - u, dv + tile.width - v) if place.half_turn else (du + u, dv + v)
                for u, v in piece.outline
            ]
            yield source, piece.id, shapely.Polygon(moved)


def new_screws(plan: Plan) -> Iterator[tuple[Source, Screw, shapely.Polygon]]:
    """Each screw that is not where it was, with the fragment that it is in."""
    for source in plan.sources:
        for screw in source.screws:
            if screw.state != "kept":
                yield source, screw, fragment_of(source, screw)


def fragment_of(source: Source, screw: Screw) -> shapely.Polygon:
    at = shapely.Point(screw.u, screw.v)
    mine = [shapely.Polygon(f.outline) for f in source.slats if (f.piece, f.slat) == (screw.piece, screw.slat)]
    return next(shape for shape in mine if shape.covers(at))


def diameter(plan: Plan) -> float:
    return NDS_L3[plan.tile.gauge] * 25.4


def sawn_edges(plan: Plan, shape: shapely.Polygon) -> list[shapely.LineString]:
    rim = shapely.box(0, 0, plan.tile.length, plan.tile.width).exterior.buffer(0.01)
    edges = [shapely.LineString(pair) for pair in pairwise(shape.exterior.coords)]
    return [edge for edge in edges if not rim.covers(edge)]


def test_the_rules_are_the_published_distances() -> None:
    rules = load_rules()
    assert (rules.screw_edge, rules.screw_end, rules.screw_row) == (2.5, 5.0, 5.0)  # NDS Commentary Table C12.1.5.7
    # for #8, worked out: 10.4 mm to an edge, 20.8 to an end
    assert 2.5 * NDS_L3[8] * 25.4 == pytest.approx(10.4, abs=0.05)
    assert 5 * NDS_L3[8] * 25.4 == pytest.approx(20.8, abs=0.05)


@each_plan
def test_the_plan_passes_the_check(name: str) -> None:
    assert [str(finding) for finding in check(planned(name))] == []
    assert planned(name).sources


@each_plan
def test_new_screws_keep_edge_and_end_of_the_slat(name: str) -> None:
    """2.5 D to an edge, 5 D to an end (NDS Commentary Table C12.1.5.7); along an oblique cut, square to it."""
    plan = planned(name)
    d = diameter(plan)
    own_end = min(min(s.u, plan.tile.length - s.u) for s in plan.tile.screws)
    for _, screw, shape in new_screws(plan):
        at = shapely.Point(screw.u, screw.v)
        for (u0, v0), (u1, v1) in pairwise(shape.exterior.coords):
            gap = shapely.LineString([(u0, v0), (u1, v1)]).distance(at)
            end = abs(v1 - v0) > math.sin(math.radians(10)) * math.dist((u0, v0), (u1, v1))
            assert gap >= (min(5 * d, own_end) if end else 2.5 * d) - 0.01


@each_plan
def test_new_screws_keep_edge_and_end_of_the_backer(name: str) -> None:
    """2.5 D to its long edges; to its ends 5 D, or the 14 mm that the tile's own keep, 12 from a sawn end (CP)."""
    plan = planned(name)
    d = diameter(plan)
    own = min(min(s.v - b.v[0], b.v[1] - s.v) for s in plan.tile.screws for b in plan.tile.backers if b.id == s.backer)
    for source, screw, _ in new_screws(plan):
        (backer,) = [b for b in source.backers if b.id == screw.backer]
        (a, b), at = backer.line, (screw.u, screw.v)
        line = shapely.LineString(backer.line)
        run = line.project(shapely.Point(at))
        assert backer.width / 2 - line.distance(shapely.Point(at)) >= 2.5 * d - 0.01
        assert min(run, math.dist(a, b) - run) >= min(5 * d, own, 12) - 0.01


@each_plan
def test_screws_in_a_row_stand_five_diameters_apart_across_the_grain(name: str) -> None:
    """NDS Commentary Table C12.1.5.7: in a row 5 D across; screws of one slat at one backer."""
    plan = planned(name)
    rows: dict[tuple[str, int, str], list[Screw]] = defaultdict(list)
    for source in plan.sources:
        for screw in source.screws:
            rows[screw.piece, screw.slat, screw.backer].append(screw)
    assert rows
    for row in rows.values():
        for one, other in combinations(row, 2):
            assert math.dist((one.u, one.v), (other.u, other.v)) >= 5 * diameter(plan) - 0.01


@each_plan
def test_kept_screws_are_twelve_from_a_new_edge(name: str) -> None:
    """Common practice, no source."""
    plan = planned(name)
    outlines = {piece: sawn_edges(plan, shape) for _, piece, shape in pieces(plan)}
    for source in plan.sources:
        for screw in source.screws:
            if screw.state == "kept":
                at = shapely.Point(screw.u, screw.v)
                assert all(edge.distance(at) >= 12 - 0.01 for edge in outlines[screw.piece])


@each_plan
def test_new_screws_are_twenty_from_old_holes_and_all_twelve_from_pin_holes(name: str) -> None:
    """Common practice, no source. Driven into its own old hole again, a screw is not near it but in it."""
    plan = planned(name)
    for source, screw, shape in new_screws(plan):
        shared = any(f.state == "shared" for f in source.slats if (f.piece, f.slat) == (screw.piece, screw.slat))
        olds = [] if shared else [s for s in plan.tile.screws if s.slat == screw.slat and s.id in source.screws_out]
        gaps = [math.dist((screw.u, screw.v), (s.u, s.v)) for s in olds if shape.covers(shapely.Point(s.u, s.v))]
        assert all(gap >= 20 - 0.01 or gap <= 0.01 for gap in gaps)
    for source in plan.sources:
        for screw in source.screws:
            for hole in source.pin_holes:
                if hole.backer == screw.backer and hole.piece == screw.piece:
                    assert math.dist((screw.u, screw.v), (hole.u, hole.v)) >= 12 - 0.01


@each_plan
def test_pin_holes_have_ten_millimetres_of_wood(name: str) -> None:
    """Common practice, no source; from the rim of a hole of 12 mm."""
    plan = planned(name)
    for source in plan.sources:
        boards = {b.id: board(b) for b in source.backers}
        for hole in source.pin_holes:
            assert boards[hole.backer].exterior.distance(shapely.Point(hole.u, hole.v)) >= 6 + 10 - 0.01
        for one, other in combinations(source.pin_holes, 2):
            if one.backer == other.backer:
                assert math.dist((one.u, one.v), (other.u, other.v)) >= 12 + 10 - 0.01


@each_plan
def test_no_slat_ends_more_than_ninety_past_its_last_backer_and_no_bay_is_longer(name: str) -> None:
    """90 mm (common practice, no source); the bay is that of the uncut tile, whose design is the authority. IRC Table
    R507.7 stops at thicker boards: there is no published spacing for thinner slats."""
    plan = planned(name)
    us = sorted(b.u for b in plan.tile.backers)
    bay = max(b - a for a, b in pairwise(us))
    for source in plan.sources:
        for fragment in source.slats:
            shape = shapely.Polygon(fragment.outline)
            screws = [
                s
                for s in source.screws
                if (s.piece, s.slat) == (fragment.piece, fragment.slat) and shape.covers(shapely.Point(s.u, s.v))
            ]
            assert len(screws) >= 2
            under = [b for b in source.backers if b.id in {s.backer for s in screws}]
            spans = sorted(board(b).intersection(shape).bounds[::2] for b in under)
            u0, _, u1, _ = shape.bounds
            assert spans[0][0] - u0 <= 90 + 0.01
            assert u1 - max(high for _, high in spans) <= 90 + 0.01
            assert all((b[0] + b[1]) / 2 - (a[0] + a[1]) / 2 <= bay + 1 for a, b in pairwise(spans))


@each_plan
def test_a_piece_hangs_on_two_backers_and_a_long_slat_too(name: str) -> None:
    """Common practice, no source: a fragment shorter than 145 mm may hang on one."""
    plan = planned(name)
    for source, piece, _ in pieces(plan):
        on = {s.backer for s in source.screws if s.piece == piece}
        assert len(on) >= 2
    for source in plan.sources:
        for fragment in source.slats:
            shape = shapely.Polygon(fragment.outline)
            screws = [s for s in source.screws if (s.piece, s.slat) == (fragment.piece, fragment.slat)]
            on = {s.backer for s in screws if shape.covers(shapely.Point(s.u, s.v))}
            u0, _, u1, _ = shape.bounds
            assert len(on) >= (2 if u1 - u0 >= 145 else 1)


@each_plan
def test_fragments_and_backers_are_as_wide_as_they_must_be(name: str) -> None:
    """25 mm at a screw, 40 mm of a backer (common practice, no source)."""
    plan = planned(name)
    for source in plan.sources:
        assert all(backer.width >= 40 - 0.01 for backer in source.backers)
        for screw in source.screws:
            shape = fragment_of(source, screw)
            _, v0, _, v1 = shape.bounds
            cross = shape.intersection(shapely.LineString([(screw.u, v0 - 1), (screw.u, v1 + 1)]))
            assert max(part.length for part in shapely.get_parts(cross)) >= 25 - 0.01


def test_some_plan_has_each_thing_that_is_measured() -> None:
    """Or the tests above would hold for want of cases."""
    all_new = [screw for name in PLANS for _, screw, _ in new_screws(planned(name))]
    assert len(all_new) > 60
    widths = {backer.width for name in PLANS for source in planned(name).sources for backer in source.backers}
    assert {40, 58, 60} <= widths
    states = {hole.state for name in PLANS for source in planned(name).sources for hole in source.pin_holes}
    assert states == {"kept", "moved", "drilled"}
    assert any(f.state == "shared" for name in PLANS for source in planned(name).sources for f in source.slats)
