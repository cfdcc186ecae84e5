"""What the uncut tile, or an uncut support, does by its own design is no fault of a plan; what is cut keeps the rules.

Tiles of 600 x 600; common practice, no source.
"""

from __future__ import annotations

import pytest

from cutopt.checks import check
from cutopt.checks.asmade import stance
from cutopt.planfile import Plan
from tests.checks.small_plan import Json, as_plan, as_values, said, small
from tests.jobs import job_of
from tests.plans import plan_of

# lines of [tile], the pitch that its pins set, and what the tile has
OWN: dict[str, tuple[str, float, str]] = {
    # the hole at (40, 50) is 10 from the screw at (40, 60)
    "hole by a screw": (
        'pin_holes = {inset = ["40 mm", "50 mm"]}\nsupport = {pin_offset = "51 mm"}\n',
        622,
        "hole's centre is 10 mm",
    ),
    # backers from 130 on: the face reaches 130 past, and 6 beside them
    "overhang": (
        'backers = {at = ["160 mm", "300 mm", "440 mm"]}\npin_holes = {inset = ["160 mm", "40 mm"]}\n'
        'support = {pin_offset = "161 mm", pad = ["400 mm", "400 mm"]}\n',
        602,
        "past what it rests on is 130.1 mm",
    ),
    "narrow backers": (
        'backers = {width = "20 mm"}\npin_holes = {diameter = "10 mm"}\nsupport = {pin = "9 mm"}\n',
        604,
        "on its support is 20 mm",
    ),
    # 140 / 2 - 61 - 10 / 2
    "pins near the pad's edge": ('support = {pin_offset = "61 mm"}\n', 642, "beyond a support's pin is 4 mm"),
}
ACROSS = {"hole by a screw": 602.0, "overhang": 842.0}  # where it is another pitch


def text_of(name: str) -> str:
    keys, along, _ = OWN[name]
    across = ACROSS.get(name, along)
    corners = [[0, 0], [2 * along + 431, 0], [2 * along + 431, 612], [0, 612]]
    pitch = f'pitch = ["{along} mm", "{across} mm"]'
    return (
        f'[tile]\nuse = "hardwood-600"\n{keys}[lay]\ngrid = "full-first"\n{pitch}\n'
        f'[[area]]\nname = "Room"\ncorners = {corners}\n'
    )


def made(name: str) -> Plan:
    return plan_of(text_of(name))


def values_of(name: str) -> Json:
    return as_values(made(name))


@pytest.mark.parametrize("name", OWN)
def test_it_is_used_as_it_is_and_said(name: str) -> None:
    assert any(OWN[name][2] in warning for warning in job_of(text_of(name)).tile.warnings)
    assert [cell.kind for cell in made(name).areas[0].cells][:2] == ["whole", "whole"]
    assert [str(finding) for finding in check(made(name))] == []


def test_a_new_hole_is_not_as_near_to_a_screw_as_the_tiles_own() -> None:
    values = values_of("hole by a screw")
    hole = next(h for s in values["sources"] for h in s["pin_holes"] if h["state"] == "kept")
    hole["state"] = "drilled"
    assert "screw-hole" in said(values)


def shrunk(values: Json, size: float) -> Json:
    """Each pad cut to a square around the support's centre."""
    for support in values["supports"]:
        x, y = support["at"]
        us = [min(max(u, x - size / 2), x + size / 2) for u, _ in support["outline"]]
        vs = [min(max(v, y - size / 2), y + size / 2) for _, v in support["outline"]]
        support["outline"], support["shape"] = [list(spot) for spot in zip(us, vs, strict=True)], "trimmed"
    return values


@pytest.mark.parametrize(
    ("name", "size", "rule"),
    [
        ("overhang", 300, "standing"),  # 150 - 1 = 149 on the tile, where its backer begins at 130: 19 of it, not 30
        ("narrow backers", 100, "bearing"),  # 48 on the tile, where its backer begins at 30: 18 of it, not 20
        ("pins near the pad's edge", 139, "support-pin"),  # 139 / 2 - 61 = 8.5 around the pin's centre, not 9
    ],
)
def test_a_support_that_is_cut_is_not_the_tiles_design(name: str, size: float, rule: str) -> None:
    assert rule in said(shrunk(values_of(name), size))


def test_how_the_small_plans_tile_stands() -> None:
    """Centres of supports 2 out from its corners, pads to 68 into it: backers from 10 to 70 and from 6 on."""
    found = stance(as_plan(small()).tile)
    assert found.bears == pytest.approx((58, 62))
    assert found.face_past_bearing == pytest.approx((10**2 + 6**2) ** 0.5)


def test_a_tile_without_holes_stands_nowhere() -> None:
    values = small()
    values["tile"]["pin_holes"] = []
    found = stance(as_plan(values).tile)
    assert (min(found.bears), found.face_past_bearing) == (float("inf"), 0)
    assert said(values)


def test_slats_narrower_than_a_fragment_may_be_are_the_tiles_own() -> None:
    """The rule asks 100 of slats that are 80 wide. What a cut leaves of one is narrower: `fragments_too_narrow`."""
    values = small()
    values["rules"]["fragment_least"] = 100
    assert said(values) == set()
