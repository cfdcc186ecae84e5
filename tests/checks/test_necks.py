"""Necks of slat fragments, drawn: widths by hand, at least 25."""

from __future__ import annotations

import pytest
from shapely.geometry import Point, Polygon, box

from cutopt.checks.necks import necks

SLAT = box(0, 0, 600, 80)


def found(shape: Polygon, least: float = 25) -> list[tuple[float, float, float]]:
    return [tuple(round(one, 3) for one in neck) for neck in necks(shape, least)]  # type: ignore[misc]


def test_a_whole_slat_and_a_ripped_one_have_none() -> None:
    assert found(SLAT) == []
    assert found(box(0, 0, 600, 20)) == []  # too narrow everywhere: its screws say so


@pytest.mark.parametrize(("left", "said"), [(11, [(90, 248, 11)]), (24.9, [(90, 248, 24.9)]), (25, []), (40, [])])
def test_a_u_notch_from_the_side_leaves_a_neck(left: float, said: list[tuple[float, float, float]]) -> None:
    """
    ──┐    ┌──
      └────┘
    ──────────
    """
    assert found(SLAT.difference(box(90, left, 248, 80))) == said


def test_a_corner_notch_leaves_a_tongue() -> None:
    assert found(SLAT.difference(box(485, 15, 600, 80))) == [(485, 600, 15)]


def test_a_notch_of_a_millimetre_is_none() -> None:
    assert found(SLAT.difference(box(300, 10, 301, 80))) == []
    assert found(SLAT.difference(box(300, 10, 302, 80))) == [(300, 302, 10)]


def test_a_tapers_tip_is_none() -> None:
    """From 80 to nothing, and from 80 to a blunt end of 10."""
    assert found(Polygon([(0, 0), (600, 0), (0, 80)])) == []
    assert found(Polygon([(0, 0), (600, 0), (600, 10), (0, 80)])) == []


def test_a_tongue_that_runs_out_to_a_point_is_none() -> None:
    """Above the notch's tip at (175, 58) the slat goes on for 1.47, from 22 wide to nothing."""
    assert found(Polygon([(0, 0), (207, 0), (175, 58), (176.47, 80), (0, 80)])) == []
    # 20 wide where a notch sets it free, and 1.5 at its end: a point; 1.5 all along is not
    assert found(Polygon([(0, 0), (600, 0), (600, 1.5), (400, 20), (400, 80), (0, 80)])) == []
    assert found(Polygon([(0, 0), (600, 0), (600, 1.5), (400, 1.5), (400, 80), (0, 80)])) == [(400, 600, 1.5)]
    # 20 wide and 5 at its end: a tongue
    assert found(Polygon([(0, 0), (600, 0), (600, 5), (400, 20), (400, 80), (0, 80)])) == [(400, 600, 20)]


def test_a_taper_beside_a_notch_is_a_neck() -> None:
    """80 wide, tapering to 10 at u 600; a notch across its edge from u 400 to 440 leaves 14 and goes on to 28.7."""
    taper = Polygon([(0, 0), (600, 0), (600, 10), (0, 80)])
    assert found(taper.difference(box(400, 14, 440, 80))) == [(400, 440, 14)]


def test_two_prongs_of_a_fork_are_two_tongues() -> None:
    """
    ────────┐
        ┌───┘  20
        └───┐  slot of 40
    ────────┘  20
    """
    assert found(SLAT.difference(box(500, 20, 600, 60))) == [(500, 600, 20), (500, 600, 20)]


def test_a_round_bite_leaves_a_neck_where_it_is_deepest() -> None:
    """A circle of radius 60 around (300, 80) leaves 20; below 25 where 60² - u² > 55²: u within 24 of the middle."""
    ((low, high, width),) = found(SLAT.difference(Point(300, 80).buffer(60, quad_segs=64)))
    assert low == pytest.approx(276, abs=1.5)
    assert high == pytest.approx(324, abs=1.5)
    assert 20 <= width < 25


def test_a_hole_within_a_slat_leaves_two() -> None:
    assert found(SLAT.difference(box(200, 10, 300, 70))) == [(200, 300, 10), (200, 300, 10)]
