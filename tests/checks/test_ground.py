"""Free ground and what may be left of it: areas by hand."""

from __future__ import annotations

import pytest
from shapely.geometry import box

from cutopt.checks import check
from cutopt.checks.ground import ground
from cutopt.checks.shapes import equal
from cutopt.planfile.model import Area
from tests.checks.small_plan import Json, as_plan, small


def area(outline: list[list[float]], gaps: list[list[float]], posts: list[Json]) -> Area:
    edges = [{"kind": "wall" if gap[1] else "open", "gap": gap} for gap in gaps]
    values = small()["areas"][0] | {"outline": outline, "edges": edges, "posts": posts}
    return Area.model_validate(values)


def test_gaps_meet_at_right_angles_around_a_corner_that_sticks_out() -> None:
    """An L of 1000 with 400 x 400 missing at the top right; 12 mm along all walls.

    ┌─────┐
    │     └───┐   inside: 976² less (400 + 12 - 12)² where the missing corner reaches in: its two gaps end square
    └─────────┘
    """
    outline: list[list[float]] = [[0, 0], [1000, 0], [1000, 600], [600, 600], [600, 1000], [0, 1000]]
    found = ground(area(outline, [[6, 12]] * 6, []))
    assert equal(found.need, box(12, 12, 988, 988).difference(box(588, 588, 1000, 1000)))
    assert equal(found.room, box(6, 6, 994, 994).difference(box(594, 594, 1000, 1000)))


def test_open_edges_take_no_gap_and_drains_no_ground() -> None:
    drain = {"name": "d", "kind": "drain", "round": False, "gap": [6, 12]}
    drain["outline"] = [[400, 400], [500, 400], [500, 500], [400, 500]]
    found = ground(area([[0, 0], [1000, 0], [1000, 1000], [0, 1000]], [[6, 12], [0, 0], [6, 12], [6, 12]], [drain]))
    assert equal(found.need, box(12, 12, 1000, 988))


def test_a_post_takes_its_gap_with_square_corners() -> None:
    post = {"name": "p", "kind": "post", "round": False, "gap": [6, 12]}
    post["outline"] = [[400, 400], [500, 400], [500, 500], [400, 500]]
    found = ground(area([[0, 0], [1000, 0], [1000, 1000], [0, 1000]], [[0, 0]] * 4, [post]))
    assert found.need.area == pytest.approx(1_000_000 - 124 * 124)


def left_rules(right_wall: float, rule: str) -> set[str]:
    """The small plan with its right wall moved and the cut cell left open by a rule: what is said about that."""
    values = small()
    values["areas"][0]["outline"] = [[0, 0], [right_wall, 0], [right_wall, 616], [0, 616]]
    cell = values["areas"][0]["cells"][1]
    left = {"outline": [[612, 8], [right_wall, 8], [right_wall, 608], [612, 608]], "rule": rule, "why": "test"}
    cell |= {"kind": "left", "pieces": [], "left": [left]}
    return {found.rule for found in check(as_plan(values)) if found.where == "Terrace cell (0, 1)"}


@pytest.mark.parametrize(
    ("right_wall", "rule", "said"),
    [
        (717.0, "thinnest_across", set()),  # 93 to 99 mm of room: below 100
        (840.0, "thinnest_across", {"left-open"}),
        (840.0, "bearing_least", {"left-open"}),  # a plain rectangle that can be cut
        (840.0, "not_yet_planned", {"left-open"}),
        (840.0, "open_edge", {"left-open"}),  # no open edge there
    ],
)  # fmt: skip
def test_left_ground_needs_a_reason(right_wall: float, rule: str, said: set[str]) -> None:
    assert left_rules(right_wall, rule) == said


def left_strip(top_wall: float, rule: str, fragment_least: float = 25) -> set[str]:
    """The cut cell as a strip ripped along the slats, `top_wall` high, left open by a rule."""
    values = small()
    values["rules"]["fragment_least"] = fragment_least
    values["areas"][0]["outline"] = [[0, 0], [1224, 0], [1224, top_wall], [0, top_wall]]
    cell = values["areas"][0]["cells"][1]
    left = {"outline": [[612, 8], [1212, 8], [1212, top_wall], [612, top_wall]], "rule": rule, "why": "test"}
    cell |= {"kind": "left", "pieces": [], "left": [left]}
    return {found.rule for found in check(as_plan(values)) if found.where == "Terrace cell (0, 1)"}


@pytest.mark.parametrize(
    ("top_wall", "least", "said"),
    [
        # slats at v [0, 80], [86.67, 166.67]: a rip between 92 and 98 leaves 5 to 11 mm of the second slat, and the
        # two share 85 to 91 mm: 42.7 to 45.7 each
        (8 + 98 + 6, 25, {"left-open"}),
        (8 + 98 + 6, 46, set()),
        # between 80 and 86 it runs in the gap
        (8 + 86 + 6, 46, {"left-open"}),
        # between 112 and 118 it leaves 25.3 to 31.3
        (8 + 118 + 6, 25, {"left-open"}),
    ],
)  # fmt: skip
def test_a_strip_may_be_left_where_every_rip_leaves_a_thin_fragment(
    top_wall: float, least: float, said: set[str]
) -> None:  # fmt: skip
    assert left_strip(top_wall, "fragment_least", least) == said


@pytest.mark.parametrize(
    ("top_wall", "said"),
    [
        (8 + 74.9 + 6, set()),  # at the least gap 74.9 are left, on marks 74
        (8 + 75 + 6, {"left-open"}),  # the listed ground is 69 wide, and the gap lets 75 be cut
    ],
)  # fmt: skip
def test_a_thin_strip_is_judged_by_the_least_gap(top_wall: float, said: set[str]) -> None:
    assert left_strip(top_wall, "thinnest_strip") == said


@pytest.mark.parametrize("rule", ["fragment_held", "longest_bay", "one_whole", "hole_wood", "face_past_bearing"])
def test_carpentry_is_no_reason_for_a_piece_with_one_square_cut(rule: str) -> None:
    assert left_strip(8 + 160 + 6, rule) == {"left-open"}  # 67 to 73 of the second slat are left
    assert left_rules(840.0, rule) == {"left-open"}
