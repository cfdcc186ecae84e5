"""The table beside a drawing: its numbers by hand from the sample, from the ends and sides that the steps use."""

from __future__ import annotations

import pytest

from cutopt.book.drawings.drawing import Polygon
from cutopt.book.drawings.sides import reading
from cutopt.book.drawings.tiledrawing import bench_drawing
from cutopt.book.words.hardware import HardwareLine, hardware_lines
from cutopt.planfile import Plan
from tests.book.sample import sample_json, sample_plan


def lines(plan: Plan, source: str) -> list[HardwareLine]:
    return list(hardware_lines(plan, next(one for one in plan.sources if one.id == source)))


def test_moved_backer_full_length() -> None:
    (line,) = lines(sample_plan(), "T1")
    assert line == HardwareLine(
        mark="T1.b3",
        doing="hang under P1",
        end="centre 380 from the home end",
        side="ends 6 and 594 from the home side",
    )


def test_holes_of_a_half_turned_piece_count_from_its_own_factory_side() -> None:
    # P4 keeps v 344 to 600, so its factory side is the far one: the hole at v = 388 lies 600 - 388 = 212 from it
    holes = lines(sample_plan(), "T3")
    assert [(one.mark, one.end, one.side) for one in holes] == [
        ("h1", "40 from the home end", "212 from the home side"),
        ("h2", "560 from the home end", "212 from the home side"),
        ("h3", "40 from the home end", "212 from the far side"),
        ("h4", "560 from the home end", "212 from the far side"),
    ]


def test_the_same_piece_twice_on_one_tile_counts_each_from_its_own_side() -> None:
    made = sample_json()
    source = made["sources"][2]
    for key in ("backers", "screws", "pin_holes", "slats", "cuts"):
        for item in source[key]:
            item["piece"] = "P3"
    for place in source["placements"]:
        place["piece"] = "P3"
    assert [one.side for one in lines(Plan.model_validate(made), "T3")] == [
        "212 from the home side",
        "212 from the home side",
        "212 from the far side",
        "212 from the far side",
    ]


def test_bought_short_backer_behind_a_notch() -> None:
    added, hole = lines(sample_plan(), "T5")
    # 594 - 440 = 154 long, the tile's own are 588
    assert added.doing == "hang a bought one under P6, 154 long"
    assert (added.end, added.side) == ("centre 440 from the home end", "ends 440 and 594 from the home side")
    assert (hole.end, hole.side) == ("560 from the home end", "466 from the home side")


def test_only_screws_in_new_rows_have_numbers() -> None:
    # T4's new screw lies at v = 216, the tile's own in slat 3 at 193.3 and 233.3; T1's 14 and T5's 4 are in old rows
    plan = sample_plan()
    assert [(s.mark, s.end, s.side) for s in lines(plan, "T4") if s.mark.startswith("s")] == [
        ("s1", "560 from the home end", "216 from the home side")
    ]
    assert not [s for n in ("T1", "T5") for s in lines(plan, n) if s.mark.startswith("s")]


@pytest.mark.parametrize(
    ("box", "at", "expected"),
    [
        ((0.0, 0.0, 420.0, 600.0), 380.0, (380.0, "home end")),
        ((181.0, 0.0, 600.0, 600.0), 221.0, (379.0, "far end")),
        ((100.0, 0.0, 500.0, 600.0), 140.0, (40.0, "piece's sawn edge nearer the home end")),
    ],
)
def test_datum(box: tuple[float, float, float, float], at: float, expected: tuple[float, str]) -> None:
    found = reading(at, 0, box, 600.0)
    assert (found.distance, found.datum) == expected


def test_a_screw_driven_anew_through_a_backer_that_stays_is_listed_even_in_an_old_row() -> None:
    # T4's screw 3.3a lies at v = 193.3; taken out and driven again at the same height it is still measured
    made = sample_json()
    next(s for s in made["sources"][3]["screws"] if s["state"] == "added")["v"] = 173.33125 + 20
    added = [line for line in lines(Plan.model_validate(made), "T4") if line.mark.startswith("s")]
    assert [(line.mark, line.side) for line in added] == [("s1", "193.3 from the home side")]


def test_a_shared_slat_has_its_new_edges_in_the_table_and_in_the_drawing() -> None:
    # slat 3 of P3 lies at v 173.3 to 253.3; ripped to 52 and laid back with its home edge in place it ends at 225.3
    made = sample_json()
    source = made["sources"][2]
    low = source["slats"][2]["outline"][0][1]
    ring = [[0.0, low], [600.0, low], [600.0, low + 52], [0.0, low + 52]]
    source["slats"][2] |= {"state": "shared", "outline": ring}
    plan = Plan.model_validate(made)
    first = lines(plan, "T3")[0]
    assert (first.mark, first.end, first.side) == (
        "slat 3",
        "ends 0 and 600 from the home end",
        "edges 173.3 and 225.3 from the home side",
    )
    shapes = bench_drawing(plan, plan.sources[2], "down").marks
    (drawn,) = [shape for shape in shapes if isinstance(shape, Polygon) and shape.style == "slat-shared"]
    assert {v for _, v in drawn.points} == {low, low + 52}
