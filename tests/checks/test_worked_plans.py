"""What the small plan has not, drawn by hand: each good plan passes, and each way to spoil it is found out."""

from __future__ import annotations

import pytest
from shapely.geometry import box

from cutopt.checks import check
from cutopt.checks.standing import Timber, centre_of_mass
from tests.checks import spoiled_bench, spoiled_shapes
from tests.checks.small_plan import as_plan, said
from tests.checks.spoiling import Corruption
from tests.checks.spoiling_worked import Maker
from tests.checks.worked_backers import oblique, screws_back_in
from tests.checks.worked_notches import corner_notch, lifted_over
from tests.checks.worked_plans import WORKED

SPOILED = (*spoiled_shapes.SPOILED, *spoiled_bench.SPOILED)


@pytest.mark.parametrize("made", WORKED, ids=lambda made: made.__name__)
def test_a_good_plan_has_no_findings(made: Maker) -> None:
    assert [str(finding) for finding in check(as_plan(made()))] == []


@pytest.mark.parametrize(
    ("made", "corruption"), SPOILED, ids=lambda value: getattr(value, "name", None) or value.__name__
)
def test_it_is_found_out_when_spoiled(made: Maker, corruption: Corruption) -> None:
    assert corruption.rules & said(corruption.of(made())), said(corruption.of(made()))


def test_waste_along_the_fence_is_all_that_is_wrong_with_it() -> None:
    """The fence stands right, its sum adds up; only what lies beside it is loose."""
    spoiled = next(one for _, one in SPOILED if one.name == "waste_along_the_fence")
    assert said(spoiled.of(screws_back_in())) == {"loose-at-fence"}


def test_the_centre_of_mass_counts_slats_and_backers_by_their_thickness() -> None:
    """A slat of 600 x 80 x 20 around u 300 and a backer of 60 x 80 x 18 around u 40: masses as 600 x 20 to 60 x 18."""
    slat, board = box(0, 0, 600, 80), box(10, 0, 70, 80)
    timber = Timber(face=slat, backers=(), all_backers=(board,), holes=(), slats=(slat,))
    found = centre_of_mass(as_plan(screws_back_in()).tile, timber)
    assert found.x == pytest.approx((12000 * 300 + 1080 * 40) / (12000 + 1080))
    assert found.y == pytest.approx(40)


def test_a_guided_saw_may_go_through_obliquely() -> None:
    values = oblique()
    assert values["sources"][0]["cuts"][0]["saw"] == "guided_saw"
    assert "inside-corner" not in said(values)


def test_nothing_is_sawn_out_of_the_waste_of_a_ring() -> None:
    values = lifted_over()
    again = {"part": "W1", "into": ["W1.1", "W1.2"], "saw": "guided_saw", "path": [[155, 256.5], [155, 343.5]], "n": 3}
    cuts = values["sources"][0]["cuts"]
    cuts.append({**cuts[0], **again})
    assert "notch-waste" in said(values)


def test_a_guided_saw_may_prepare_the_legs_beyond_a_jigsaws_reach() -> None:
    """The notch's legs are 90 and 83.3: with a reach of 85 the guided saw has to go first, 1.5 minutes more."""
    values = corner_notch()
    values["rules"]["jigsaw_reach"] = 85
    assert said(values) == {"saw"}
    cuts = [step for step in values["steps"] if step["do"] == "cut"]
    place = values["steps"].index(cuts[1])
    values["steps"].insert(place, {**cuts[1], "station": "guided saw", "minutes": 1.5})
    for number, step in enumerate(values["steps"], 1):
        step["n"] = number
    values["sources"][0]["minutes"] += 1.5
    values["totals"]["minutes"] += 1.5
    values["totals"]["minutes_by_station"]["guided saw"] = 1.5
    assert said(values) == set()
