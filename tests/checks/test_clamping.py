"""A slat that no screw holds is sawn only where no screw could hold it, and the wood lies still.

The plan of a corner notch: slat 7 of the piece of 420 is on backers 1 and 2, at u 40 and 300; cut 1 is the crosscut on
the table saw at u 420, cut 2 the notch from (420, 516.67) over (330, 516.67) to (330, 600), with a jigsaw.
"""

from __future__ import annotations

import pytest

from cutopt.checks import check
from tests.checks.small_plan import Json, as_plan
from tests.checks.worked_notches import corner_notch

OFF = ["7.1a", "7.1b", "7.2a", "7.2b"]


def loosened(off: list[str] = OFF) -> Json:
    """All screws of slat 7 are out while it is sawn; backer 3's are in any case."""
    values = corner_notch()
    source = values["sources"][0]
    source["screws_out"] = [*source["screws_out"], *off]
    unscrew = next(step for step in values["steps"] if step["do"] == "unscrew")
    unscrew["screws"] = [*unscrew["screws"], *off]
    us = {"1": 40, "2": 300}
    gone = {(us[name[2]], 540 if name[3] == "a" else 580) for name in off}
    source["screws"] = [s for s in source["screws"] if not (s["slat"] == 7 and (s["u"], s["v"]) in gone)]
    return values


def unheld(values: Json) -> list[str]:
    return [finding.where for finding in check(as_plan(values)) if finding.rule == "unheld-slat"]


def test_a_slat_on_one_screw_is_held() -> None:
    assert unheld(corner_notch()) == []
    assert unheld(loosened(OFF[:3])) == []


def test_a_slat_whose_screws_were_taken_out_for_nothing_is_not() -> None:
    assert unheld(loosened()) == ["cut 1 of T1", "cut 2 of T1"]


def test_a_jigsaw_may_saw_it_clamped_where_every_screw_is_too_near_to_the_blade() -> None:
    """The nearest blade to (40, 580) is the notch's leg at u 330, 290 off; to (300, 540) 38.6, over the corner."""
    values = loosened()
    values["rules"]["screw_clearance"] = 291.4
    assert unheld(values) == ["cut 1 of T1"]  # the table saw pushes it past the blade
    values["rules"]["screw_clearance"] = 285
    assert unheld(values) == ["cut 1 of T1", "cut 2 of T1"]


def test_a_screw_in_a_bought_board_could_have_been_driven_first() -> None:
    values = loosened()
    values["rules"]["screw_clearance"] = 291.4
    source = values["sources"][0]
    source["backers"].append(
        {"id": "spare 1", "piece": "P1", "from": None, "line": [[8, 530], [8, 594]], "width": 16, "state": "added"}
    )
    source["screws"].append({"piece": "P1", "slat": 7, "backer": "spare 1", "u": 8, "v": 560, "state": "added"})
    assert unheld(values) == ["cut 1 of T1", "cut 2 of T1"]


@pytest.mark.parametrize(
    ("source", "span", "found"),
    [
        ("T1", [6, 594], []),  # wanted whole, and the blade would saw it: it comes off first
        ("T1", [6, 500], ["cut 2 of T1"]),  # the blade leaves what is wanted of it alone: it may come off later
        ("T9", [6, 594], ["cut 2 of T1"]),  # it is another tile's that is wanted
    ],
)
def test_a_screw_in_wood_that_must_leave_first_could_not_stay(source: str, span: list[int], found: list[str]) -> None:
    """Slat 7 is on backer 2 alone; the notch reaches to u 250, across that backer and 48 from its screws."""
    values = loosened()
    values["tile"]["screws"] = [one for one in values["tile"]["screws"] if one["id"] not in OFF[:2]]
    tile = values["sources"][0]
    tile["cuts"][1]["path"] = [[420, 516.67], [250, 516.67], [250, 600]]
    wood = {"source": source, "backer": 2, "span": span}
    line = [[200, span[0]], [200, span[1]]]
    tile["backers"].append({"id": "T1.b9", "piece": "P1", "from": wood, "line": line, "width": 60, "state": "moved"})
    assert [where for where in unheld(values) if where != "cut 1 of T1"] == found
