"""Pads of supports: shared by feet within the pins' play, hidden under wood, off one another, halved around posts.

The tile is hardwood-600: pads of 140 x 140 mm, pins of 10 mm at 42 mm from the centre on both axes, holes of 12 mm. A
pin has (12 - 10) / 2 = 1 mm of play in its hole. 10 mm of pad stay beyond a pin, so 15 mm around its centre, and a
backer bears on 30 mm (common practice, no source). All numbers below are millimetres.
"""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from cutopt.hang.feet import Foot, Party, parties_of
from cutopt.hang.pads import cut_around, pads_of, parts_of, shape_of
from tests.jobs import room

JOB = room(3000, 3000)
MM = 320
MEAT = 15 * MM
QUARTERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))
WIDE = shapely.box(-1000 * MM, -1000 * MM, 1000 * MM, 1000 * MM)

Spot = tuple[float, float]
Box = tuple[float, float, float, float]


def in_mm(shape: shapely.Geometry) -> Box:
    """The bounds of a shape, to a hundredth."""
    x0, y0, x1, y1 = (round(value / MM, 2) for value in shape.bounds)
    return x0, y0, x1, y1


def mm_box(*bounds: float) -> shapely.Polygon:
    """A rectangle: least x, least y, most x, most y."""
    x0, y0, x1, y1 = (value * MM for value in bounds)
    return shapely.box(x0, y0, x1, y1)


def foot(x: float, y: float, way: tuple[int, int], board: shapely.Polygon = WIDE, *, turned: bool = False) -> Foot:
    """A foot whose support has its centre here; the backer lies all over it unless told."""
    at = (round(x * MM), round(y * MM))
    pin = (at[0] + way[0] * 42 * MM, at[1] + way[1] * 42 * MM)
    return Foot(centre=at, pin=pin, toward=way, turned=turned, board=board)


def party(*feet: Foot) -> Party:
    """The one party that the feet make."""
    (found,) = parties_of(feet, JOB.tile)
    return found


def whole_at(x: float, y: float) -> Party:
    return party(*(foot(x, y, way) for way in QUARTERS))


def pads(parties: list[Party], sill: shapely.Geometry = WIDE) -> list[shapely.Geometry]:
    shapely.prepare(sill)
    return pads_of(parties, sill, JOB.tile, JOB.rules)


def margins(one: Party, pad: shapely.Geometry) -> list[float]:
    """How much pad there is around each pin's centre, mm."""
    return [pad.boundary.distance(shapely.Point(pin)) / MM if pad.covers(shapely.Point(pin)) else 0 for pin in one.pins]


class TestParties:
    """Which feet share a support."""

    def test_four_corners_meet_on_one(self) -> None:
        one = whole_at(602, 602)
        assert one.centre == (602 * MM, 602 * MM)
        assert {(x / MM, y / MM) for x, y in one.pins} == {(560, 560), (644, 560), (644, 644), (560, 644)}

    @pytest.mark.parametrize(("apart", "supports"), [(1.9, 1), (2.1, 2)])
    def test_pins_play_on_both_sides(self, apart: float, supports: int) -> None:
        # the support stands half-way: each pin is apart / 2 off its hole's centre, 1 mm at most
        found = parties_of([foot(0, 0, (-1, 1)), foot(apart, 0, (1, 1))], JOB.tile)
        assert len(found) == supports

    def test_the_order_of_feet_does_not_matter(self) -> None:
        # centres at 0, 0.9, 1.8: all within 1 mm of 0.9, though the first is 1.8 from the last
        feet = [foot(x, 0, way) for x, way in zip((0, 0.9, 1.8), QUARTERS, strict=False)]
        for order in (feet, feet[::-1], [feet[1], feet[2], feet[0]]):
            (one,) = parties_of(order, JOB.tile)
            assert all(math.dist(p, f.pin) <= 1 * MM for p, f in zip(one.pins, one.feet, strict=True))

    def test_one_quarter_takes_one_foot(self) -> None:
        assert len(parties_of([foot(0, 0, (1, 1)), foot(0.5, 0, (1, 1))], JOB.tile)) == 2

    def test_oblong_pads_turn_with_all_their_tiles(self) -> None:
        # 24 x 48 in tiles may have oblong pads; a tile turned by a quarter takes the pad along
        one = party(foot(0, 0, (1, 1), turned=True))
        assert one.half == (70 * MM, 70 * MM)


class TestSill:
    """No pad is seen beside the wood."""

    def test_three_tiles_around_open_ground(self) -> None:
        """
               +-------+ open
               | C    P|        the wood ends at 600, the joint's middle is at 602:
        602 ---+----P P|----    the pad keeps 532 … 672 but for what lies beyond (600, 600)
               | A  |P B
               +----+------
        """
        wood = shapely.union_all([mm_box(0, 0, 1204, 600), mm_box(0, 0, 600, 1204)])
        one = party(*(foot(602, 602, way) for way in QUARTERS if way != (1, 1)))
        (pad,) = pads([one], wood)
        assert in_mm(pad) == (532, 532, 672, 672)
        assert pad.area / MM**2 == pytest.approx(140 * 140 - 72 * 72)
        assert shape_of(one, pad) == "trimmed"

    def test_three_pins_under_wood_all_over(self) -> None:
        # the fourth tile has its hole elsewhere: the support stays whole and loses a pin
        one = party(*(foot(602, 602, way) for way in QUARTERS[:3]))
        (pad,) = pads([one])
        assert (shape_of(one, pad), len(one.pins)) == ("whole", 3)

    def test_the_fourth_foot_moved(self) -> None:
        """A hole moved by 20 mm to clear a screw takes its quarter along: 672 + 20; the other three stay."""
        moved = party(foot(602, 622, (1, 1)))
        three = party(*(foot(602, 602, way) for way in QUARTERS if way != (1, 1)))
        pad3, pad1 = pads([three, moved])
        assert in_mm(pad1) == (602, 622, 672, 692)
        assert shape_of(moved, pad1) == "quarter"
        assert pad3.area / MM**2 == pytest.approx(3 * 70 * 70)
        assert shape_of(three, pad3) == "trimmed"

    @pytest.mark.parametrize(
        ("wall", "shape"),
        [(600, "half"), (597.5, "half"), (590, "trimmed"), (588, "trimmed")],
    )
    def test_a_half_along_a_wall(self, wall: float, shape: str) -> None:
        """
        ----+ 602     wood ends at `wall`; the half reaches from 532 to there
        P   |         of 70 mm the saw may take 5: to 597
        P   |
        ----+
        """
        one = party(foot(602, 300, (-1, -1)), foot(602, 300, (-1, 1)))
        (pad,) = pads([one], mm_box(0, 0, wall, 600))
        assert in_mm(pad) == (532, 230, wall, 370)
        assert shape_of(one, pad) == shape

    def test_a_half_shortened_at_its_end_is_trimmed(self) -> None:
        one = party(foot(602, 300, (-1, -1)), foot(602, 300, (-1, 1)))
        (pad,) = pads([one], mm_box(0, 0, 600, 368))
        assert shape_of(one, pad) == "trimmed"

    def test_two_corners_across_from_one_another(self) -> None:
        # two tiles that meet at their corners only: open ground beside them, so two quarters, each with its pin
        wood = shapely.union_all([mm_box(0, 0, 600, 600), mm_box(604, 604, 1204, 1204)])
        one = party(foot(602, 602, (-1, -1)), foot(602, 602, (1, 1)))
        (pad,) = pads([one], wood)
        parts = parts_of(one, pad, 10 * MM)
        assert [shape_of(p, plate) for p, plate in parts] == ["quarter", "quarter"]
        assert [len(p.pins) for p, _ in parts] == [1, 1]


class TestApart:
    """Pads that would lie on one another."""

    def pair(self, far: float, backer_end: float = 1000) -> tuple[list[Party], list[shapely.Geometry]]:
        """A whole support at the origin, and a half whose pins stand at y = 42 + far: its pad starts at y = 14 + far.

        y
        |  P----P   42 + far     the narrow strip along a wall has its outer holes here
        |  P----P   42           and its inner ones on the whole support, 70 deep
        +--------
        """
        board = mm_box(-1000, 0, 1000, backer_end)
        half = party(*(foot(0, 84 + far, (x, -1), board) for x in (-1, 1)))
        parties = [whole_at(0, 0), half]
        return parties, pads(parties)

    def test_pads_that_do_not_meet_stay(self) -> None:
        _, (one, other) = self.pair(56)  # 14 + 56 = 70
        assert in_mm(one)[3] == 70
        assert in_mm(other)[1] == 70

    def test_the_one_with_more_pins_stays_whole(self) -> None:
        # pins at 42 and 85: from 70 on the half has 15 left before its pins
        parties, (one, other) = self.pair(43)
        assert shape_of(parties[0], one) == "whole"
        assert in_mm(other) == (-70, 70, 70, 127)

    def test_both_yield_where_a_pin_would_lose_its_meat(self) -> None:
        # pins at 42 and 77: 70 would leave 7; half-way both have 35 / 2 = 17.5
        _, (one, other) = self.pair(35)
        assert in_mm(one)[3] == in_mm(other)[1] == 59.5

    def test_the_whole_one_yields_where_a_backer_would_lose_its_bearing(self) -> None:
        # the backer ends at 98: from 70 on it bears on 28 of 30; the half stays as it is, from 57, 15 past the pins
        parties, (one, other) = self.pair(43, backer_end=98)
        assert in_mm(one) == (-70, -70, 70, 57)
        assert shape_of(parties[1], other) == "half"

    def test_a_foot_beside_its_three_neighbours(self) -> None:
        """A hole in a narrow backer is 5.5 mm further in than its neighbours: no support holds all four pins.

        -70      0 5.5   70
         +-------+-------+        three quarters stay, and the fourth stands 5.5 mm aside:
         | P     |     P |        it yields the 5.5 mm that lie under its neighbour's quarter
         +-----+-+-------+
         | P   | |     P |
         +-----+ +-------+
        """
        three = party(*(foot(0, 0, way) for way in QUARTERS if way != (-1, -1)))
        aside = party(foot(5.5, 0, (-1, -1)))
        one, other = pads([three, aside])
        assert in_mm(other) == (-64.5, -70, 0, 0)
        assert one.area / MM**2 == pytest.approx(3 * 70 * 70)
        assert margins(three, one) == pytest.approx([28] * 3)

    def test_a_quarter_yields_a_strip(self) -> None:
        # a quarter from (30, 60) on reaches under the whole one by 40 x 10: its pin at (72, 102) is clear, so it yields
        # a straight strip; turned round, its pin at (12, 102) is 30 from the whole one's edge along y, and so again
        for way in ((1, 1), (-1, 1)):
            quarter = party(foot(30, 60, way))
            whole, pad = pads([whole_at(0, 0), quarter])
            assert whole.area / MM**2 == pytest.approx(140 * 140)
            assert in_mm(pad)[1] == 70

    @given(st.floats(22, 56))
    def test_never_less_than_the_rule_beyond_a_pin(self, far: float) -> None:
        # holes are at least 12 + 10 = 22 apart: 11 mm are left around either pin, from 30 on 15
        parties, found = self.pair(far)
        assert found[0].intersection(found[1]).area <= MM * MM
        for one, pad in zip(parties, found, strict=True):
            assert min(margins(one, pad)) >= min(15, far / 2) - 0.01

    @given(st.integers(-60, 60), st.integers(-60, 60))
    def test_quarters_anywhere_beside_a_whole_one(self, dx: int, dy: int) -> None:
        quarter = party(foot(dx, 100 + dy, (1, 1)))
        parties = [whole_at(0, 0), quarter]
        found = pads(parties)
        assert found[0].intersection(found[1]).area <= 4 * MM * MM
        nearest = min(max(abs(p[0] - q[0]), abs(p[1] - q[1])) for p in parties[0].pins for q in quarter.pins) / MM
        if nearest >= 30:
            assert all(min(margins(one, pad)) >= 15 - 0.01 for one, pad in zip(parties, found, strict=True))

    def test_pads_of_many_parts(self) -> None:
        """An oblique edge and a joint leave a point or line of a pad besides its face: neither is a pad."""
        # the sill touches the first quarter's far corner (-70, -70) with a sliver of no width, and leaves the second
        sill = shapely.union_all([mm_box(-60, -60, 200, 200), mm_box(-100, -100, -70, -70)])
        one, other = whole_at(0, 0), party(foot(5, 150, (1, -1)))
        found = pads([one, other], sill)
        assert all(set(shapely.get_type_id(shapely.get_parts(pad))) == {3} for pad in found)
        assert all(min(margins(p, pad)) >= 15 for p, pad in zip((one, other), found, strict=True))


class TestPosts:
    """A post on a crossing."""

    def around(self, x: float, y: float, half: float) -> list[tuple[Party, shapely.Polygon]]:
        """A pole and its gap, 2 x half wide, near the middle of a whole support."""
        taken = mm_box(x - half, y - half, x + half, y + half)
        sill = WIDE.difference(taken)
        one = whole_at(0, 0)
        (pad,) = pads([one], sill)
        return parts_of(one, cut_around(one, pad, taken, MEAT), 10 * MM)

    def test_halves_beside_a_pole(self) -> None:
        """A pole of 20 mm with 6 mm all round stands on the crossing, 32 mm in all.

        +------+##+------+     # sawn out: 2 x 16 mm
        | P    |##|    P |     pins at 42, so 26 mm are left beside each
        |      |()|      |     each half is 70 - 16 = 54 wide
        | P    |##|    P |
        +------+##+------+
        """
        parts = self.around(0, 0, 16)
        assert sorted(in_mm(plate) for _, plate in parts) == [(-70, -70, -16, 70), (16, -70, 70, 70)]
        assert [len(p.pins) for p, _ in parts] == [2, 2]
        assert all(not plate.interiors and min(margins(p, plate)) == 26 for p, plate in parts)

    def test_sawn_where_the_pins_have_more_room(self) -> None:
        # 14 mm off towards +y: along y the pad would end 30 from the middle, 12 before the pins; along x it has 26
        parts = self.around(0, 14, 16)
        assert sorted(in_mm(plate) for _, plate in parts) == [(-70, -70, -16, 70), (16, -70, 70, 70)]

    def test_a_post_under_one_corner_leaves_the_rest(self) -> None:
        """A post beside the pin (42, 42) of a tile that is not laid: three quarters stay in one plate."""
        sill = WIDE.difference(mm_box(2, 2, 200, 200))
        one = party(*(foot(0, 0, way) for way in QUARTERS if way != (1, 1)))
        (pad,) = pads([one], sill)
        ((same, plate),) = parts_of(one, cut_around(one, pad, mm_box(30, 30, 90, 90), MEAT), 10 * MM)
        assert len(same.pins) == 3
        assert plate.equals(pad)

    def test_a_slab_through_the_middle(self) -> None:
        # a wall's end 32 mm thick runs along the joint: the pad falls into two halves, and no pin is lost
        sill = WIDE.difference(mm_box(-16, -500, 16, 500))
        one = whole_at(0, 0)
        (pad,) = pads([one], sill)
        parts = parts_of(one, pad, 10 * MM)
        assert sorted(in_mm(plate) for _, plate in parts) == [(-70, -70, -16, 70), (16, -70, 70, 70)]
        assert sorted(pin for p, _ in parts for pin in p.pins) == sorted(one.pins)


class TestSlivers:
    """What is too thin to stay beyond a pin is no pad."""

    def test_a_tongue_is_left_out(self) -> None:
        # wood 600 x 600 with a tongue of 12 mm past y = 300: 2 x 10 mm have to stay, so the tongue goes
        wood = shapely.union_all([mm_box(0, 0, 600, 300), mm_box(540, 300, 552, 600)])
        one = party(foot(602, 302, (-1, -1)), foot(602, 302, (-1, 1)))
        parts = parts_of(one, pads([one], wood)[0], 10 * MM)
        assert in_mm(parts[0][1]) == (532, 232, 600, 300)

    @given(st.floats(5, 85), st.floats(0, 60))
    def test_oblique_walls_keep_the_pin(self, degrees: float, past: float) -> None:
        # a wall at any angle, `past` mm beyond 16 mm (the wood that every hole has) from a pin at (560, 260)
        run = math.radians(degrees)
        normal = (math.cos(run), math.sin(run))
        at = ((560 + normal[0] * (16 + past)) * MM, (260 + normal[1] * (16 + past)) * MM)
        far = 3000 * MM
        along = (-normal[1] * far, normal[0] * far)
        back = (-normal[0] * far, -normal[1] * far)
        a, b = (at[0] + along[0], at[1] + along[1]), (at[0] - along[0], at[1] - along[1])
        wood = shapely.Polygon([a, b, (b[0] + back[0], b[1] + back[1]), (a[0] + back[0], a[1] + back[1])])
        one = party(foot(602, 302, (-1, -1)))
        ((same, plate),) = parts_of(one, pads([one], wood)[0], 10 * MM)
        assert same.pins == one.pins
        assert wood.buffer(1).covers(plate)
        assert min(margins(one, plate)) >= 15
