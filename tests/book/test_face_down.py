"""The mirrored drawing: where marks land when the tile is turned over sideways, and that no text is mirrored.

face up                      face down (turned over like a page, about an axis along v)
v1 +-----------+             v1 +-----------+
   |        3  |                |  3        |
u0 |           | u1          u1 |           | u0
   |  1        |                |        1  |
v0 H-----------+             v0 +-----------H        H = home corner
"""

from __future__ import annotations

import itertools
import re

import pytest

from cutopt.book.drawings.drawing import Circle, Drawing, Polygon, Strokes, Text
from cutopt.book.drawings.pen import text_box
from cutopt.book.drawings.placed import View
from cutopt.book.drawings.rings import overlap
from cutopt.book.drawings.styles import StyleName
from cutopt.book.drawings.svg import svg
from cutopt.book.drawings.tiledrawing import bench_drawing, faces
from cutopt.planfile import Plan
from tests.book.sample import OUT, sample_plan


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


def drawn(plan: Plan, source: str, face: str = "down") -> Drawing:
    found = next(one for one in plan.sources if one.id == source)
    return bench_drawing(plan, found, "up" if face == "up" else "down")


def circles(drawing: Drawing, style: StyleName) -> set[tuple[float, float]]:
    return {
        (round(shape.centre[0], 3), round(shape.centre[1], 3))
        for shape in drawing.marks
        if isinstance(shape, Circle) and shape.style == style
    }


def texts(drawing: Drawing) -> set[str]:
    return {shape.text for shape in drawing.marks if isinstance(shape, Text)}


def test_turning_over_sideways_changes_left_and_right_and_not_near_and_far() -> None:
    assert View(face="down", length=600.0).at((40.0, 20.0)) == (560.0, 20.0)
    assert View(face="up", length=600.0).at((40.0, 20.0)) == (40.0, 20.0)


def test_turning_over_twice_changes_nothing() -> None:
    down = View(face="down", length=609.6)
    assert down.at(down.at((123.4, 56.7))) == pytest.approx((123.4, 56.7))


def test_every_new_screw_lands_mirrored(plan: Plan) -> None:
    for source in plan.sources:
        # 600 is the tile's length: a screw at u from the home end lies 600 - u from the drawing's left
        new = {(round(600 - s.u, 3), round(s.v, 3)) for s in source.screws if s.state != "kept"}
        assert circles(drawn(plan, source.id), "screw-new") == new


def test_every_screw_that_stays_lands_mirrored(plan: Plan) -> None:
    for source in plan.sources:
        stays = {(round(600 - s.u, 3), round(s.v, 3)) for s in plan.tile.screws if s.id not in source.screws_out}
        assert circles(drawn(plan, source.id), "screw-kept") == stays


def test_screws_to_take_out_are_crossed_where_they_are_and_numbered(plan: Plan) -> None:
    drawing = drawn(plan, "T1")
    crosses = [shape for shape in drawing.marks if isinstance(shape, Strokes) and shape.style == "screw-out"]
    centres = set()
    for cross in crosses:
        (x1, y1), (x2, y2) = cross.lines[0]
        centres.add((round((x1 + x2) / 2, 3), round((y1 + y2) / 2, 3)))
    # backer 3 is at u = 560, so its screws lie 40 from the left; it loses all, which is said in one word
    assert centres == {(40.0, round(s.v, 3)) for s in plan.tile.screws if s.backer == 3}
    assert f"all {len(OUT)} out" in texts(drawing)
    assert not set(OUT) & texts(drawing)
    # of the notch's backer two come out, of the taper's one
    assert {"7.3a", "7.3b"} <= texts(drawn(plan, "T5"))
    assert "3.3b" in texts(drawn(plan, "T4"))


def test_number_of_a_screw_stands_at_its_height(plan: Plan) -> None:
    by_id = {screw.id: screw for screw in plan.tile.screws}
    found = [s for n in ("T4", "T5") for s in drawn(plan, n).marks if isinstance(s, Text) and s.text in by_id]
    assert len(found) == 3
    for shape in found:
        assert shape.at[1] == pytest.approx(by_id[shape.text].v, abs=35)


@pytest.mark.parametrize("face", ["down", "up"])
def test_each_edge_has_its_name_beside_it(plan: Plan, face: str) -> None:
    found = {s.text: s for s in drawn(plan, "T1", face).marks if isinstance(s, Text) and s.style == "side-text"}
    assert set(found) == {"home end", "far end", "home side", "far side"}
    # the tile is 600 x 600; face down the home end lies right
    assert (found["home end"].at[0] > 600) == (face == "down")
    assert (found["far end"].at[0] < 0) == (face == "down")
    assert found["home side"].at[1] < 0
    assert found["far side"].at[1] > 600


def test_backers_have_the_names_of_the_steps(plan: Plan) -> None:
    assert {"T1.b1", "T1.b2", "T1.b3"} <= texts(drawn(plan, "T1"))
    assert {"T3.b1", "T3.b1b"} <= texts(drawn(plan, "T3"))


def test_a_moved_backer_has_the_distance_of_its_centre_line(plan: Plan) -> None:
    assert "T1.b3: 380" in texts(drawn(plan, "T1"))


def test_names_of_sides_stay_clear_of_each_other_and_of_the_chalked_h(plan: Plan) -> None:
    for source in plan.sources:
        for face in faces(plan, source):
            shapes = bench_drawing(plan, source, face).marks
            boxes = [text_box(s) for s in shapes if isinstance(s, Text) and s.style in ("side-text", "piece-text")]
            boxes += [text_box(s) for s in shapes if isinstance(s, Text) and s.text == "H"]
            assert not any(overlap(a, b) for a, b in itertools.combinations(boxes, 2))


def test_drilled_holes_land_mirrored(plan: Plan) -> None:
    # T3 is drilled at u 40 and 560, v 212 and 388
    assert circles(drawn(plan, "T3"), "hole-drilled") == {(560, 212), (40, 212), (560, 388), (40, 388)}


@pytest.mark.parametrize(("face", "home_x"), [("down", 600.0), ("up", 0.0)])
def test_home_corner(plan: Plan, face: str, home_x: float) -> None:
    corner = next(s for s in drawn(plan, "T1", face).marks if isinstance(s, Polygon) and s.style == "home")
    assert corner.points[0] == (home_x, 0.0)


@pytest.mark.parametrize(("face", "cut_x"), [("down", 180.0), ("up", 420.0)])
def test_cut_lies_on_the_side_that_the_operator_sees(plan: Plan, face: str, cut_x: float) -> None:
    lines = [s for s in drawn(plan, "T1", face).marks if s.style == "cut"]
    assert {point[0] for line in lines if not isinstance(line, (Circle, Text, Strokes)) for point in line.points} == {
        cut_x
    }


def test_kerf_strokes_lie_on_the_waste_side(plan: Plan) -> None:
    # T1 is cut at u = 420 and the blade takes 420 to 423.2, so face down the strokes reach left of x = 180
    kerf = next(s for s in drawn(plan, "T1").marks if isinstance(s, Strokes) and s.style == "kerf")
    assert all(start[0] == pytest.approx(180) and end[0] < 180 for start, end in kerf.lines)


def test_no_text_is_mirrored_or_upside_down(plan: Plan) -> None:
    for source in plan.sources:
        for face in faces(plan, source):
            drawing = bench_drawing(plan, source, face)
            assert all(-90 < shape.turn <= 90 for shape in drawing.marks if isinstance(shape, Text))
            transforms = re.findall(r'transform="([a-z]+)\(', svg(drawing))
            assert set(transforms) <= {"rotate"}


def test_band_names_the_face(plan: Plan) -> None:
    for face, words in (("down", "FACE DOWN"), ("up", "FACE UP")):
        texts = [
            s.text for s in drawn(plan, "T1", face).marks if isinstance(s, Text) and s.style == f"band-text-{face}"
        ]
        assert len(texts) == 1
        assert texts[0].startswith(words)


def test_face_up_is_drawn_only_where_a_cut_is_made_that_way(plan: Plan) -> None:
    assert [faces(plan, source) for source in plan.sources] == [("down", "up"), *[("down",)] * 4]
