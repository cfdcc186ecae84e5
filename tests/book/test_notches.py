"""Holes, arcs and leaning backers on drawings and in the cut list, from pieces made by hand."""

from __future__ import annotations

import csv
import io
import math

import pytest

from cutopt.book import cuts_csv, html_page
from cutopt.book.drawings.drawing import Circle, Line, Polygon, Strokes, Text
from cutopt.book.drawings.marks import cut_step, marks
from cutopt.book.drawings.tiledrawing import bench_drawing
from cutopt.book.words.hardware import hardware_lines, u_at
from cutopt.lay.records import Notch
from cutopt.planfile import Plan
from tests.work.handmade import T, piece, planned, ticks

RING = [(200.0, 240.0), (200.0, 360.0), (330.0, 360.0), (330.0, 240.0)]


@pytest.fixture(scope="module")
def ringed() -> Plan:
    """A piece that is lifted over a post; its hole is 130 x 120."""
    plan = planned([piece(0, notches=[Notch(path=ticks(RING), closed=True)], fixed=("u0", "u1", "v0", "v1"))])
    (one,) = plan.pieces
    return plan.model_copy(update={"pieces": (one.model_copy(update={"holes": (tuple(RING),)}),)})


@pytest.fixture(scope="module")
def rounded() -> Plan:
    """A round notch of radius 61 about (500, 300), open to the far end."""
    out = 61 / math.cos(math.pi / 16)
    turns = [math.pi * (k + 0.5) / 8 for k in range(8)]
    arc = [(500 - out * math.sin(a), 300 - out * math.cos(a)) for a in turns]
    path = ticks([(600, 239), (500, 239), *arc, (500, 361), (600, 361)])
    return planned([piece(0, notches=[Notch(path=path, centre=ticks([(500, 300)])[0], radius=61 * T)])])


def test_a_hole_is_drawn_mirrored_as_waste(ringed: Plan) -> None:
    drawing = bench_drawing(ringed, ringed.sources[0], "down")
    waste = [s.points for s in drawing.marks if isinstance(s, Polygon) and s.style == "piece-hole"]
    # face down u = 200 to 330 lies at x = 400 down to 270
    assert tuple((600 - u, v) for u, v in RING) in waste
    (cut,) = [s for s in drawing.marks if isinstance(s, Line) and s.style == "cut" and len(s.points) == 5]
    assert cut.points[0] == cut.points[-1]
    kerf = next(s for s in drawing.marks if isinstance(s, Strokes) and s.style == "kerf")
    assert kerf.lines
    # the strokes reach into the hole, where the blade runs
    assert all(270 <= end[0] <= 400 and 240 <= end[1] <= 360 for _, end in kerf.lines)


def test_the_hole_that_a_ring_is_started_from_is_drawn_and_listed(ringed: Plan) -> None:
    (source,) = ringed.sources
    (u, v), *more = [hole for step in ringed.steps if step.cut == 1 for hole in step.holes]
    assert more == []
    assert 200 < u < 330
    assert 240 < v < 360
    (line,) = [line for line in hardware_lines(ringed, source) if line.mark == "start 1"]
    assert line.doing == "drill 12 right through, in the waste"
    assert (line.end, line.side) == (f"{u:g} from the home end", f"{v:g} from the home side")
    drawing = bench_drawing(ringed, source, "down")
    circles = [s for s in drawing.marks if isinstance(s, Circle) and s.style == "hole-drilled"]
    assert [(s.centre, s.radius) for s in circles] == [((600 - u, v), 6.0)]  # face down u runs to the left
    assert "start 1" in [s.text for s in drawing.marks if isinstance(s, Text)]


def test_an_arc_is_measured_by_its_centre_and_radius(rounded: Plan) -> None:
    (source,) = rounded.sources
    (cut,) = source.cuts
    found = [(m.side, m.distance) for m in marks(rounded, source, cut, cut_step(rounded, source, cut))]
    # the centre, then the two straight legs, which end beside it
    assert found == [("u0", 500.0), ("v0", 300.0), ("v0", 239.0), ("v0", 361.0)]
    drawing = bench_drawing(rounded, source, "down")
    (radius,) = [s for s in drawing.marks if isinstance(s, Text) and s.text == "R 61"]
    assert math.dist(radius.at, (600 - 500, 300)) < 2 * 61  # in the notch, or next to it
    row = next(csv.DictReader(io.StringIO(cuts_csv(rounded))))
    assert "radius 61 mm" in row["more marks"]


def test_strokes_along_an_arc_lie_on_the_waste_side(rounded: Plan) -> None:
    drawing = bench_drawing(rounded, rounded.sources[0], "down")
    kerf = next(s for s in drawing.marks if isinstance(s, Strokes) and s.style == "kerf")
    round_part = [(start, end) for start, end in kerf.lines if start[0] > 101]  # beyond the centre, face down
    assert len(round_part) >= 5
    assert all(math.dist(end, (100, 300)) < math.dist(start, (100, 300)) for start, end in round_part)


def test_a_leaning_backer_is_drawn_along_its_line_and_measured_at_both_ends(rounded: Plan) -> None:
    (source,) = rounded.sources
    first = source.backers[0]
    lean = first.model_copy(update={"line": ((100.0, 6.0), (140.0, 594.0)), "state": "moved", "width": 40.0})
    assert u_at(lean, 300) == pytest.approx(120)
    leaning = source.model_copy(update={"backers": (lean, *source.backers[1:])})
    drawing = bench_drawing(rounded.model_copy(update={"sources": (leaning,)}), leaning, "down")
    words = {s.text for s in drawing.marks if isinstance(s, Text)}
    assert {f"{lean.id}: 100", f"{lean.id}: 140"} <= words
    (board,) = [s.points for s in drawing.marks if isinstance(s, Polygon) and s.style == "backer-moved"]
    # face down its centre line runs from x = 500 to 460; its ends are square to it, 20 to each side
    middles = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in ((board[0], board[1]), (board[2], board[3]))]
    assert sorted(middles) == [pytest.approx((460, 594)), pytest.approx((500, 6))]
    assert math.dist(board[0], board[1]) == pytest.approx(40)


def test_the_card_says_where_the_least_work_is_not_proven(rounded: Plan) -> None:
    words = "least bench work is not proven"
    (source,) = rounded.sources
    for least in (True, False):
        plan = rounded.model_copy(update={"sources": (source.model_copy(update={"least_work": least}),)})
        assert (words in html_page(plan)) is not least
