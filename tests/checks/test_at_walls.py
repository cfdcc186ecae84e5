"""The walking face at a wall, and what stays open there: slat gaps, dropped slats, round posts."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon, box

from cutopt.checks import check
from cutopt.checks.dropping import _kept_edges, hemmed
from cutopt.checks.evidence import gather
from cutopt.checks.standing import _corners, _of_piece
from tests.checks.hand_plan import rect
from tests.checks.small_plan import Json, as_plan
from tests.checks.small_sites import values_at
from tests.checks.worked_notches import round_notch
from tests.checks.worked_splits import dropped


def said(values: Json) -> list[tuple[str, str]]:
    return [(finding.rule, finding.text) for finding in check(as_plan(values))]


def rules(values: Json) -> set[str]:
    return {rule for rule, _ in said(values)}


def test_a_slat_beside_a_cut_in_a_slat_gap_is_at_the_wall() -> None:
    """Ripped at v 170, in the gap from 166.67 to 173.33: slat 2 ends 3.33 from the cut with its own long edge."""
    evidence = gather(as_plan(dropped()))
    (placed,) = evidence.placed
    sawn = {(round(u), round(v)): at_wall for (u, v), at_wall in _corners(evidence, _of_piece(placed))}
    assert sawn == {
        **dict.fromkeys([(0, 0), (600, 0), (0, 80), (600, 80), (0, 87), (600, 87)], False),
        **dict.fromkeys([(0, 167), (600, 167)], True),
    }


def test_no_corner_of_a_slat_further_off_is_at_the_wall() -> None:
    """Slat 2 of a round notch's piece ends at u 420 in the crosscut; slat 4 has corners in the bite."""
    evidence = gather(as_plan(round_notch()))
    (placed,) = evidence.placed
    corners = list(_corners(evidence, _of_piece(placed)))
    assert {at_wall for (u, _), at_wall in corners if u < 1} == {False}
    assert {at_wall for (u, _), at_wall in corners if u > 380} == {True}


def wall_down(by: float) -> Json:
    """The dropped strip's plan with its wall nearer."""
    values = dropped()
    for spot in values["areas"][0]["outline"][2:4]:
        spot[1] -= by
    return values


@pytest.mark.parametrize("by", [1, 8, 15])
def test_a_fragment_that_only_the_least_gap_leaves_may_be_dropped(by: float) -> None:
    """At 15 the most gap ends at v 173, before slat 3; with the least there were 5.67 of it."""
    assert "left-open" not in rules(wall_down(by))


def test_an_oblique_walls_strip_is_kept_along_one_edge_only() -> None:
    """A wedge of 0 to 10 over 353 along: its long side comes within a twentieth of the kept wood near the tip only."""
    wedge = Polygon([(58.6, 430.006), (412, 430.006), (58.8, 439.9)])
    bounds = list(_kept_edges(wedge, box(56, 0, 600, 430)))
    assert len(bounds) == 2
    assert all(430 <= low <= high <= 430.06 for _, low, _, high in bounds)


def test_ground_a_millimetre_long_is_kept_along_too() -> None:
    """Where a tip was cut off at the first mark: 1 by 13, kept wood below it all along, or only at its corner."""
    tip = Polygon([(0, 430.0), (0.99, 430.0), (0.99, 443.3), (0, 443.0)])
    assert list(_kept_edges(tip, box(0, 0, 600, 430))) == [(0, 430.0, 0.99, 430.0)]
    assert list(_kept_edges(tip, box(0.7, 0, 600, 430))) == []


def test_ground_between_two_posts_has_no_kept_edge() -> None:
    """Ground from v 87 to 104.5 between what two posts ask for; not where it ends short of one of them."""
    need = box(0, 0, 600, 600).difference(box(145, 0, 180, 87)).difference(box(140, 104.5, 200, 160))
    assert hemmed(box(145.2, 87, 169, 104.5), need)
    assert not hemmed(box(145.2, 87, 169, 104), need)
    assert not hemmed(box(139, 87, 169, 104.5), need)


def left_for(values: Json, rule: str) -> list[Json]:
    return [left for area in values["areas"] for cell in area["cells"] for left in cell["left"] if left["rule"] == rule]


def test_ground_beside_a_round_post_may_stay_open() -> None:
    values = values_at("bare")
    assert len(left_for(values, "post_gap")) == 2
    assert said(values) == []


def test_not_where_the_post_is_square() -> None:
    values = values_at("bare")
    for post in values["areas"][0]["posts"]:
        xs, ys = ([spot[axis] for spot in post["outline"]] for axis in (0, 1))
        post |= {"round": False, "outline": rect(min(xs), min(ys), max(xs), max(ys))}
    texts = [text for rule, text in said(values) if rule == "left-open"]
    assert any("reaches further beyond a square around a post" in text for text in texts)


def test_not_further_from_it_than_a_dropped_slat() -> None:
    """It reaches 22 beyond the square around the post."""
    values = values_at("bare")
    values["rules"]["dropped_gap"] = 21
    assert "left-open" in rules(values)


def test_not_where_no_wood_lies() -> None:
    values = values_at("notched")
    (left,) = left_for(values, "infill_least")
    left["rule"] = "post_gap"
    for cell in values["areas"][0]["cells"]:
        if left in cell["left"]:
            cell |= {"kind": "left", "pieces": []}
    assert "is left for post_gap, yet no wood lies around a post there" in [text for _, text in said(values)]


def test_ground_that_is_not_listed_beside_what_is() -> None:
    """54 mm lie open between the post's gap and the tile's side; 20 of them are not listed."""
    values = values_at("notched")
    (left,) = left_for(values, "infill_least")
    most = max(x for x, _ in left["outline"])
    left["outline"] = [[x - 20 * (x == most), y] for x, y in left["outline"]]
    assert "coverage" in rules(values)


def test_a_square_of_an_infill_does_not_fit_beside_the_post() -> None:
    """54 x 118 stay open where the least of an infill is 100; at 50 one would do."""
    values = values_at("notched")
    assert said(values) == []
    values["rules"]["infill_least"] = 50
    assert any("enough for an infill piece" in text for _, text in said(values))
