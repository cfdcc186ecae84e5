"""Cuts replayed on polygons: areas by hand."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from cutopt.checks.replay import Replay, overshoots, replay, through
from cutopt.checks.shapes import equal
from cutopt.planfile.model import Cut, Source

SQUARE = ((0.0, 0.0), (600.0, 0.0), (600.0, 600.0), (0.0, 600.0))


def cut(n: int, part: str, into: tuple[str, str], path: tuple[tuple[float, float], ...], **more: object) -> Cut:
    values = {"piece": "P1", "saw": "jigsaw", "kerf": 2.0, "closed": False, "waste_side": "right"} | more
    return Cut.model_validate({"n": n, "part": part, "into": into, "path": path, **values})


def sawn(*cuts: Cut) -> Replay:
    empty = dict.fromkeys(
        ("placements", "backers", "slats", "screws", "screws_out", "pin_holes", "sealed", "offcuts"), ()
    )
    values = {"id": "T1", "from": "new", "uses": 1, "outline": SQUARE, "cuts": cuts, "minutes": 0.0, **empty}
    return replay(Source.model_validate(values))


def part(result: Replay, name: str) -> Polygon:
    return dict(result.parts)[name]


def test_a_notch_leaves_an_l_and_a_smaller_rectangle() -> None:
    """A 200 x 100 notch at (600, 0): the blade runs inside it, 2 wide along both legs.

    ┌─────────┐
    │      ┌──┘   part A: 600² - 200·100
    │      │ B    part B: (200 - 2)·(100 - 2)
    └──────┘
    """
    result = sawn(cut(1, "T1", ("A", "B"), ((400, 0), (400, 100), (600, 100))))
    assert result.faults == ()
    assert part(result, "A").area == pytest.approx(360_000 - 20_000)
    assert equal(part(result, "B"), box(402, 0, 600, 98))


def test_a_blade_around_waste_that_sticks_out_is_mitred() -> None:
    """The same path with the L as waste: the blade takes 2 mm off the L, its outer corner square."""
    result = sawn(cut(1, "T1", ("A", "B"), ((400, 0), (400, 100), (600, 100)), waste_side="left"))
    assert equal(part(result, "B"), box(400, 0, 600, 100))
    assert part(result, "A").area == pytest.approx(360_000 - 202 * 102)


def test_an_oblique_cut_is_clean_to_both_ends() -> None:
    """A 45 degree cut at a corner: what falls off is a triangle whose legs are shorter by 2·√2."""
    result = sawn(cut(1, "T1", ("A", "B"), ((400, 0), (600, 200))))
    assert result.faults == ()
    assert part(result, "A").area == pytest.approx(360_000 - 200 * 200 / 2)
    assert part(result, "B").area == pytest.approx((200 - 2 * 2**0.5) ** 2 / 2)


def test_a_trim_thinner_than_the_blade_leaves_dust_alone() -> None:
    result = sawn(cut(1, "T1", ("A", ""), ((599, 0), (599, 600))))
    assert result.faults == ()
    assert [name for name, _ in result.parts] == ["A"]


def test_a_part_without_a_name_is_a_fault() -> None:
    result = sawn(cut(1, "T1", ("A", ""), ((500, 0), (500, 600))))
    assert [found.rule for found in result.faults] == ["cut-into"]


def test_a_part_that_is_gone_cannot_be_sawn() -> None:
    first = cut(1, "T1", ("A", "B"), ((400, 0), (400, 600)))
    result = sawn(first, cut(2, "T1", ("C", "D"), ((200, 0), (200, 600))))
    assert [found.rule for found in result.faults] == ["cut-part"]


def test_a_closed_cut_falls_in_inside_and_around() -> None:
    """Anticlockwise, so the inside is left; waste on the left: the blade runs inside the hole."""
    ring = ((200, 200), (300, 200), (300, 300), (200, 300))
    result = sawn(cut(1, "T1", ("hole", "A"), ring, closed=True, waste_side="left"))
    assert result.faults == ()
    assert part(result, "A").area == pytest.approx(360_000 - 10_000)
    assert equal(part(result, "hole"), box(202, 202, 298, 298))


def test_a_table_saw_goes_on_through_the_other_leg() -> None:
    """A U that is open above: a cut along v = 300 from the left edge to the notch would saw the right leg too."""
    u = box(0, 0, 600, 600).difference(box(200, 200, 400, 600))
    assert not through(u, ((0, 300), (200, 300)))
    assert through(u, ((0, 100), (600, 100)))


def test_a_round_blade_saws_on_beyond_an_inside_corner() -> None:
    """An L: an oblique cut up to its inside corner goes on into the wood beyond.

    One along an edge, or from outer edge to outer edge, does not.

    ┌───┐
    │   └───┐   corner at (300, 300)
    └───────┘
    """
    ell = box(0, 0, 600, 600).difference(box(300, 300, 600, 600))
    assert overshoots(ell, ((600, 100), (300, 300)))
    assert not overshoots(ell, ((300, 300), (100, 0)))
    assert overshoots(ell, ((300, 300), (600, 290)))
    assert not overshoots(ell, ((0, 300), (300, 300)))
    assert not overshoots(ell, ((0, 200), (600, 200)))
    assert not overshoots(ell, ((300, 300), (0, 0)))  # it leaves by the corner itself


def test_a_part_with_a_hole_falls_in_two_through_it() -> None:
    ring = ((200, 200), (200, 300), (300, 300), (300, 200))
    first = cut(1, "T1", ("A", "hole"), ring, closed=True)
    result = sawn(first, cut(2, "A", ("B", "C"), ((600, 250), (0, 250))))
    assert [found.rule for found in result.faults] == ["cut-path"]  # the path leaves the wood on its way
    assert part(result, "hole").area == pytest.approx(96 * 96)
