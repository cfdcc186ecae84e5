"""What is measured for each cut, by hand from the sample's drawing, and the cut list that prints it."""

from __future__ import annotations

import csv
import io

import pytest

from cutopt.book import cuts_csv
from cutopt.book.drawings.marks import cut_step, kept_side, marked_line, marks
from cutopt.planfile import Plan
from tests.book.sample import sample_json, sample_plan


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.mark.parametrize(
    ("source", "number", "expected"),
    [
        ("T1", 1, [("u0", 420.0)]),
        ("T3", 1, [("v0", 256.0)]),
        ("T3", 2, [("v1", 256.0)]),
        ("T4", 1, [("v0", 254.0), ("v0", 234.0)]),
        ("T5", 1, [("u0", 482.0), ("v0", 506.0)]),
    ],
)
def test_distances(plan: Plan, source: str, number: int, expected: list[tuple[str, float]]) -> None:
    found = next(one for one in plan.sources if one.id == source)
    cut = found.cuts[number - 1]
    assert [(m.side, m.distance) for m in marks(plan, found, cut, cut_step(plan, found, cut))] == expected


def test_without_a_setting_the_home_side_is_the_datum(plan: Plan) -> None:
    source = plan.sources[2]
    assert [(m.side, m.distance) for cut in source.cuts for m in marks(plan, source, cut, None)] == [
        ("v0", 256.0),
        ("v0", 344.0),
    ]


def test_the_far_side_is_the_datum_where_only_from_there_the_distance_is_on_a_mark() -> None:
    # 600 is no whole number of sixteenths of an inch, so what lies 4 in = 101.6 mm from the far end lies on none from
    # the home end: (600 - 101.6) / 1.5875 = 313.95
    made = sample_json()
    made["job"]["mark"] = 1.5875
    made["sources"][3]["cuts"][0]["path"] = [[600 - 101.6, 0.0], [600 - 101.6, 600.0]]
    plan = Plan.model_validate(made)
    source = plan.sources[3]
    (mark,) = marks(plan, source, source.cuts[0], None)
    assert (mark.side, mark.start) == ("u1", 600.0)
    assert mark.distance == pytest.approx(101.6)


def test_an_oblique_cut_that_starts_at_another_is_marked_from_rim_to_rim() -> None:
    # from (0, 254) to (600, 234) the line falls 20 in 600; sawn only from u = 300, where v = 244
    made = sample_json()
    made["sources"][3]["cuts"][0]["path"] = [[300.0, 244.0], [600.0, 234.0]]
    plan = Plan.model_validate(made)
    source = plan.sources[3]
    tail, tip = marked_line(source, source.cuts[0])
    assert tail == pytest.approx((0.0, 254.0))
    assert tip == (600.0, 234.0)
    assert [m.distance for m in marks(plan, source, source.cuts[0], None)] == pytest.approx([254.0, 234.0])


def test_path_drawn_the_other_way_gives_the_same_mark(plan: Plan) -> None:
    source = plan.sources[0]
    cut = source.cuts[0]
    turned = cut.model_copy(update={"path": tuple(reversed(cut.path)), "waste_side": "left"})
    assert [(m.side, m.distance) for m in marks(plan, source, turned, None)] == [("u0", 420.0)]
    assert kept_side(turned) == kept_side(cut) == "u0"


def test_setting_from_a_sawn_edge_starts_there() -> None:
    # cut 2 of T3 measured from the sawn edge at 259.2: 344 - 259.2 = 84.8, the part being upside down at the fence
    made = sample_json()
    step = next(s for s in made["steps"] if s["source"] == "T3" and s["cut"] == 2)
    step["setup"] = {"fence": 84.8, "datum": "v0"}
    plan = Plan.model_validate(made)
    source = plan.sources[2]
    (mark,) = marks(plan, source, source.cuts[1], cut_step(plan, source, source.cuts[1]))
    assert (mark.side, mark.distance) == ("v0", 84.8)
    assert mark.start == pytest.approx(259.2)


def rows(plan: Plan) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(cuts_csv(plan))))


def test_every_cut_has_its_line(plan: Plan) -> None:
    expected = [(source.id, str(cut.n)) for source in plan.sources for cut in source.cuts]
    assert [(row["source"], row["cut"]) for row in rows(plan)] == expected
    assert [row["n"] for row in rows(plan)] == [str(n) for n in range(1, len(expected) + 1)]


def test_lines_say_what_the_plan_says(plan: Plan) -> None:
    first, *_, notch = rows(plan)
    assert first["saw"] == "table saw"
    assert (first["face"], first["copies"], first["kerf mm"], first["kept side"]) == ("up", "2", "3.2", "home end")
    assert (first["datum 1"], first["distance 1 mm"]) == ("home end", "420")
    assert first["sum"] == "420 + 3.2 + 176.8 = 600"
    assert first["falls off"] == "offcut R1, 176.8 wide: to the rack"
    assert (notch["datum 2"], notch["distance 2 mm"]) == ("home side", "506")


def test_distances_in_inches_as_well() -> None:
    # 420 mm = 16.5354 in; 0.5354 * 64 = 34.27, so 34/64 = 17/32
    assert rows(sample_plan(show="in"))[0]["distance 1 in shown"] == "16-17/32"


def test_no_cell_is_a_formula() -> None:
    made = sample_json()
    next(s for s in made["steps"] if s["cut"] == 1)["falls_off"] = '=HYPERLINK("x")'
    assert rows(Plan.model_validate(made))[0]["falls off"] == '\'=HYPERLINK("x")'
