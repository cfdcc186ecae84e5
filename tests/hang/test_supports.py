"""The support plan of whole areas: what stands where, and how many supports that takes.

Tiles of 600 mm, joints of 4 mm, pads of 140 mm; a support's centre is the middle of the joints' crossing. Where the
start corner is (0, 0), a full first tile lies on (gap, gap).
"""

from __future__ import annotations

from collections import Counter

import pytest
import shapely

from cutopt.hang import supports_of
from cutopt.hang.records import PlacedSupport
from cutopt.lay import lay, starts
from cutopt.planfile import Plan
from cutopt.planfile.model import AreaSupport
from tests.jobs import area_text, job_of, post_text, room, surveyed
from tests.plans import SITES, plan_named, plan_of

MM = 320
Ring = tuple[tuple[float, float], ...]


def placed(job_text: str) -> dict[tuple[float, float], PlacedSupport]:
    """The supports of an area where only whole tiles lie, by their place in millimetres."""
    area = surveyed(job_of(job_text))
    layout = lay(area, starts(area)[0])
    assert not layout.pieces
    found = supports_of(area, layout, (), ())
    assert len({support.at for support in found}) == len(found)
    return {(support.at[0] / MM, support.at[1] / MM): support for support in found}


def ring(support: PlacedSupport) -> set[tuple[float, float]]:
    return {(x / MM, y / MM) for x, y in support.outline}


def corners(x0: float, y0: float, x1: float, y1: float) -> set[tuple[float, float]]:
    return {(x0, y0), (x1, y0), (x1, y1), (x0, y1)}


HEAD = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "full-first"\n'


class TestWholeTiles:
    """Areas that whole tiles fill."""

    def test_four_tiles(self) -> None:
        """
        1204 Q----H----Q      centres at -2, 602 and 1206: the joints' middles
             |    |    |      pads 70 each way, and no further than the wood, 0 … 1204
         602 H----W----H
             |    |    |
           0 Q----H----Q
        """
        found = placed(HEAD + area_text([(0, 0), (1204, 0), (1204, 1204), (0, 1204)], ["open"] * 4))
        assert Counter(s.shape for s in found.values()) == {"whole": 1, "half": 4, "quarter": 4}
        assert ring(found[602, 602]) == corners(532, 532, 672, 672)
        assert ring(found[602, -2]) == corners(532, 0, 672, 68)
        assert ring(found[602, 1206]) == corners(532, 1136, 672, 1204)
        assert ring(found[-2, -2]) == corners(0, 0, 68, 68)
        assert {(x / MM, y / MM) for x, y in found[602, -2].pins} == {(560, 40), (644, 40)}

    @pytest.mark.parametrize("pattern", ["straight", "alternate", "two-and-one"])
    def test_turned_tiles_stand_alike(self, pattern: str) -> None:
        # 3 x 3 tiles: 1808 mm; holes are as far in along as across, so every corner meets
        text = HEAD + f'pattern = "{pattern}"\n'
        found = placed(text + area_text([(0, 0), (1808, 0), (1808, 1808), (0, 1808)], ["open"] * 4))
        assert Counter(s.shape for s in found.values()) == {"whole": 4, "half": 8, "quarter": 4}
        assert sum(len(s.pins) for s in found.values()) == 9 * 4

    def test_three_tiles_around_a_corner(self) -> None:
        """
        1204 +-----+
             |     |  open      the wood ends at 600 and the pad with it
         602 +-----L-----+      three pins; the fourth corner would be seen
             |     |     |
           0 +-----+-----+
        """
        text = area_text([(0, 0), (1204, 0), (1204, 600), (600, 600), (600, 1204), (0, 1204)], ["open"] * 6)
        found = placed(HEAD + text)
        corner = found[602, 602]
        assert (corner.shape, len(corner.pins)) == ("trimmed", 3)
        assert ring(corner) == {(532, 532), (672, 532), (672, 600), (600, 600), (600, 672), (532, 672)}

    def test_oblong_tiles(self) -> None:
        # 24 x 48 in modules: 1215.2 x 605.6 mm of wood; two side by side along x make 2434.4 mm
        text = '[tile]\nuse = "hardwood-24x48in"\n[lay]\ngrid = "full-first"\n'
        found = placed(text + area_text([(0, 0), (2434.4, 0), (2434.4, 605.6), (0, 605.6)], ["open"] * 4))
        assert Counter(s.shape for s in found.values()) == {"half": 2, "quarter": 4}
        assert ring(found[1217.2, -2]) == corners(1147.2, 0, 1287.2, 68)

    def test_a_measured_pitch(self) -> None:
        # 604.6 over ten tiles: holes are 84.6 apart across a joint, 0.3 mm off either pin
        area = area_text([(0, 0), (1204.6, 0), (1204.6, 1204.6), (0, 1204.6)], ["open"] * 4)
        found = placed(HEAD + 'pitch = "604.6 mm"\n' + area)
        assert Counter(s.shape for s in found.values()) == {"whole": 1, "half": 4, "quarter": 4}
        assert found[602.3, 602.3].shape == "whole"

    def test_row_by_row(self) -> None:
        found = list(placed(HEAD + area_text([(0, 0), (1204, 0), (1204, 1204), (0, 1204)], ["open"] * 4)))
        assert found == sorted(found, key=lambda at: (at[1], at[0]))


class TestPieces:
    """Areas with cut tiles. The shapes are worked out by hand, common practice, no source."""

    def test_halves_around_a_post(self) -> None:
        """A post of 50 mm on the crossing, 6 mm gap: notches of 31 - 2 = 29 mm in four tiles.

           |           The first and last backers of 60 mm start at 10, so the notch shortens them; their holes
        H--+--H        move 29 along: two pins left and right of the joint above the post, two below it.
         +---+
         | # |         One support each side, halved: its pad ends where the notch does.
         +---+
        H--+--H
           |
        """
        at = 6 + 602  # a wall's gap, a tile and half a joint
        job = room(6 + 1204 + 6, 6 + 1204 + 6, more=post_text(at, at, 50))
        plan = plan_of(HEAD + area_text([(0, 0), (1216, 0), (1216, 1216), (0, 1216)], more=post_text(at, at, 50)))
        assert job.tile.support.pad == (140 * MM, 140 * MM)
        near = [s for s in plan.supports if abs(s.at[0] - at) < 100 and abs(s.at[1] - at) < 200]
        assert [s.shape for s in near] == ["half", "half"]
        low, high = sorted((shapely.Polygon(s.outline) for s in near), key=lambda pad: pad.bounds)
        assert low.bounds[3] <= at - 25 - 6 + 0.02
        assert high.bounds[1] >= at + 25 + 6 - 0.02
        assert all(len(s.pins) == 2 for s in near)

    def test_a_rip_trims_the_half_along_the_wall(self) -> None:
        """Of the last row 582 to 588 mm are left: its holes at 560 stay, and the half would stand in the gap.

        The half starts at 602 - 70 = 532 in the cell, so it is 56 mm deep where the cut is at 588, not 68.
        """
        size = 6 + 1204 + 6
        plan = plan_of(HEAD + area_text([(0, 0), (size, 0), (size, size - 12), (0, size - 12)]))
        cut = {v for piece in plan.pieces for _, v in piece.outline if v > 532}
        assert len(cut) == 1
        assert 582 <= min(cut) <= 588
        (wall,) = (s for s in plan.supports if s.at[1] > 1000 and len(s.pins) == 2)
        x0, y0, x1, y1 = shapely.Polygon(wall.outline).bounds
        assert wall.shape == "trimmed"
        assert (x0, x1) == pytest.approx((6 + 532, 6 + 672), abs=0.02)
        assert (y0, y1) == pytest.approx((6 + 604 + 532, 6 + 604 + min(cut)), abs=0.02)


def wood_of(plan: Plan, area: str) -> shapely.Geometry:
    """Wood and joints of an area in its layout frame, mm, put together from the plan alone."""
    here = next(a for a in plan.areas if a.name == area)
    cells = {(cell.row, cell.col): cell for cell in here.cells}
    length, width = plan.tile.length, plan.tile.width

    def lain(row: int, col: int, outline: Ring) -> shapely.Polygon:
        x, y = (o + n * p for o, n, p in zip(here.grid.origin, (col, row), here.grid.pitch, strict=True))
        turned = cells[row, col].quarter_turn
        return shapely.Polygon([(x + width - v, y + u) if turned else (x + u, y + v) for u, v in outline])

    full = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    faces = [lain(c.row, c.col, full) for c in here.cells if c.kind == "whole"]
    faces += [lain(p.row, p.col, tuple(p.outline)) for p in plan.pieces if p.area == area]
    turned = here.cells[0].quarter_turn
    joints = (here.grid.pitch[0] - (width if turned else length), here.grid.pitch[1] - (length if turned else width))
    half = max(*joints) / 2 + 1  # and the pins' play on both sides
    return shapely.union_all(faces).buffer(half, join_style="mitre").buffer(-half, join_style="mitre")


@pytest.mark.parametrize("site", SITES)
def test_supports_of_whole_plans(site: str) -> None:
    """Nothing is seen, no pad on another, every pin in a hole and with its pad around it, each place once."""
    plan = plan_named(site)
    past = plan.rules["pad_past_pin"]
    assert isinstance(past, float | int)
    for area in plan.areas:
        supports = [s for s in plan.supports if s.area == area.name]
        wood = wood_of(plan, area.name).buffer(0.05)
        pads = [shapely.Polygon(s.outline) for s in supports]
        assert all(wood.covers(pad) for pad in pads)
        for support, pad in zip(supports, pads, strict=True):
            assert support.pins
            # beyond the pin's own edge, as a person would measure it, but for holes closer than two such pads
            assert all(pad.boundary.distance(shapely.Point(pin)) >= past - 0.01 for pin in support.pins)
            assert pad.covers(shapely.MultiPoint(support.pins))
        assert sum(p.area for p in pads) == pytest.approx(shapely.union_all(pads).area, abs=4 * len(pads))
        holes = sum(len(plan.tile.pin_holes) for cell in area.cells if cell.kind == "whole")
        mine = {piece.id for piece in plan.pieces if piece.area == area.name}
        bored = {}  # pieces alike have the same name and are cut from many sources
        for source in plan.sources:
            for placement in source.placements:
                bored[placement.piece] = sum(hole.piece == placement.piece for hole in source.pin_holes)
        assert all(bored[piece] > 1 for piece in mine)
        holes += sum(bored[piece] for piece in mine)
        assert sum(len(s.pins) for s in supports) == holes


@pytest.mark.parametrize("site", SITES)
def test_halves_and_quarters_are_what_they_say(site: str) -> None:
    """Area and pins agree with the name: a whole one as made, a half a straight half, a quarter a corner."""
    plan = plan_named(site)
    full = plan.tile.support.pad[0] * plan.tile.support.pad[1]
    shares = {"whole": (1.0, 1.0), "half": (0.46, 0.5), "quarter": (0.21, 0.25), "trimmed": (0.0, 0.999)}
    most_pins = {"whole": 4, "half": 2, "quarter": 1, "trimmed": 4}

    def share(support: AreaSupport) -> float:
        return float(shapely.Polygon(support.outline).area / full)

    for support in plan.supports:
        low, high = shares[support.shape]
        assert low - 1e-4 <= share(support) <= high + 1e-4, support
        assert len(support.pins) <= most_pins[support.shape]
