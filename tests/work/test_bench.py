"""The steps of pieces made by hand: what is said at the saw, at the drill and at the bench, and in which order.

Tile 600 x 600 mm, 7 slats of 80, backers of 60 at u = 40, 300, 560, slat 20 and backer 18 mm thick. Rules without a
published source: a starter hole of 12 mm, push sticks below 150 mm at the fence, 60 mm short of inside corners.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
import shapely

from cutopt.checks.evidence import gather
from cutopt.checks.holding import holding
from cutopt.checks.replay import replay
from cutopt.checks.ripping import ripping
from cutopt.lay.records import Notch
from cutopt.planfile import Plan
from cutopt.planfile.model import Step
from cutopt.planning import plan as plan_of
from tests.jobs import post_text, room
from tests.work.handmade import T, piece, planned, steps_that, ticks

RING = Notch(path=ticks([(240, 240), (240, 360), (360, 360), (360, 240)]), closed=True)
END = [(0.0, 0.0), (420.0, 0.0), (420.0, 600.0), (0.0, 600.0)]
END_CUT = [[(420.0, 0.0), (420.0, 600.0)]]


def the(plan: Plan, do: str) -> str:
    """The text of the only step of a kind."""
    (step,) = steps_that(plan, do)
    return step.text


@pytest.fixture(scope="module")
def ringed() -> Plan:
    return planned([piece(0, notches=[RING], fixed=("u0", "u1", "v0", "v1"))])


def test_a_ring_is_sawn_from_a_starter_hole_in_the_waste(ringed: Plan) -> None:
    (drill,), (cut,) = steps_that(ringed, "drill"), steps_that(ringed, "cut")
    assert (drill.station, drill.face, drill.cut, drill.n < cut.n) == ("drill", "down", 1, True)
    # through slat and backer, 20 + 18; half of 12, 3 mm and the kerf of 1.5 off the line at 240: 250.5 at the least
    assert "starter hole of 12 mm in the waste of cut 1" in drill.text
    assert "(up to 38 mm)" in drill.text
    (hole,) = drill.holes
    assert all(250.5 <= at <= 600 - 250.5 for at in hole)
    assert drill.minutes == ringed.rules["rate_hole"]
    assert "251 mm from the home end" in drill.text
    assert (cut.station, cut.face) == ("jigsaw", "down")
    assert "from the starter hole saw all round" in cut.text
    assert "falls out" in cut.falls_off


def test_a_ring_replays_as_a_closed_cut(ringed: Plan) -> None:
    (source,) = ringed.sources
    (cut,) = source.cuts
    assert cut.closed
    worked = replay(source)
    assert worked.faults == ()
    parts = dict(worked.parts)
    # 600 x 600 less a square of 120 is kept; of the square 117 x 117 falls out, the kerf around it is dust
    assert parts["P1"].area == pytest.approx(600 * 600 - 120 * 120, abs=1)
    assert parts[source.offcuts[0].id].area == pytest.approx(117 * 117, abs=1)


def test_a_round_notch_is_marked_by_centre_radius_and_straight_legs() -> None:
    radius, lines = 61.0, 8
    out = radius / math.cos(math.pi / (2 * lines))
    turns = [math.pi * (k + 0.5) / lines for k in range(lines)]
    arc = [(500 - out * math.sin(a), 300 - out * math.cos(a)) for a in turns]
    path = ticks([(600, 239), (500, 239), *arc, (500, 361), (600, 361)])
    notch = Notch(path=path, centre=ticks([(500, 300)])[0], radius=61 * T)
    plan = planned([piece(0, notches=[notch])])
    (cut,) = plan.sources[0].cuts
    assert cut.arc is not None
    assert (cut.arc.centre, cut.arc.radius) == ((500, 300), 61)
    text = next(step.text for step in steps_that(plan, "mark") if step.cut == 1)
    assert "the centre, 500 mm from the home end and 300 mm from the home side" in text
    assert "circle of 61 mm radius" in text
    # the notch opens to the far end: from there to beside the centre, 300 - 61 and 300 + 61
    assert "from (on the far end, 239 mm from the home side) to (500 mm from the home end" in text
    assert "361 mm from the home side) to (on the far end" in text


@pytest.mark.parametrize(
    ("centre", "words"),
    [
        ((628, 300), "on it, 28 mm past the far end and 300 mm from the home side"),
        ((628, 602), "on it, 28 mm past the far end and 2 mm past the far side"),
    ],
)
def test_a_centre_beside_the_tile_is_pricked_on_wood_laid_there(centre: tuple[float, float], words: str) -> None:
    """A round post on a joint: of its circle of 100 about the centre the tile has a bite at its edge or corner."""
    cu, cv = centre
    out = 100 / math.cos(math.pi / 64)
    spots = [(cu + out * math.cos(math.pi * k / 32), cv + out * math.sin(math.pi * k / 32)) for k in range(64)]
    wood = shapely.box(0, 0, 600, 600)
    line = shapely.LineString([*spots, spots[0]]).intersection(wood)
    line = shapely.line_merge(line) if line.geom_type != "LineString" else line
    path = ticks([(u, v) for u, v in line.coords])
    path = path if path[0][1] < path[-1][1] else path[::-1]  # up along the far end, around the waste on its right
    notch = Notch(path=path, centre=ticks([centre])[0], radius=100 * T)
    text = next(step.text for step in planned([piece(0, notches=[notch])]).steps if step.cut == 1)
    assert words in text


def test_every_straight_mark_and_cut_names_the_face_that_is_up() -> None:
    # a taper along the slats is a rip: face down; one across them lies face up, packed up off its backers
    rip = piece(
        0,
        [(0, 0), (600, 0), (600, 430), (0, 420)],
        [[(600, 430), (0, 420)]],
        fixed=("u0", "u1", "v0"),
    )
    across = piece(1, [(0, 0), (430, 0), (420, 600), (0, 600)], [[(430, 0), (420, 600)]])
    plan = planned([rip, across])
    by_source = {source.id: source.placements[0].piece for source in plan.sources}
    for step in plan.steps:
        if step.cut is not None and by_source[step.source] == "P1":
            assert step.face == "down"
        if step.cut is not None and by_source[step.source] == "P2":
            assert step.face == "up"
    texts = {by_source[step.source]: step.text for step in steps_that(plan, "cut")}
    assert "off its backers" in texts["P2"]
    assert "off its backers" not in texts["P1"]
    assert all("clamp the part down" in text for text in texts.values())


@pytest.mark.parametrize(("length", "stick"), [(420, False), (149, True)])
def test_push_sticks_where_less_than_150_runs_at_the_fence(length: float, stick: bool) -> None:
    end = piece(0, [(0, 0), (length, 0), (length, 600), (0, 600)], [[(length, 0), (length, 600)]])
    (step,) = steps_that(planned([end]), "cut")
    assert step.setup is not None
    assert (step.setup.fence < 150) == stick
    assert ("push sticks" in step.text) == stick


def test_a_long_leg_is_sawn_by_the_guided_saw_first() -> None:
    job = room(1820, 1216, before='[rules]\nspare_backers = 99\njigsaw_reach = "200 mm"\n')
    corner = Notch(path=ticks([(600, 390), (330, 390), (330, 600)]))  # legs of 270 and 210
    plan = planned([piece(0, notches=[corner], fixed=("u0", "v0"))], job)
    first, second = steps_that(plan, "cut")
    assert (first.station, second.station, first.cut, second.cut) == ("guided saw", "jigsaw", 1, 1)
    # 60 mm short of the inside corner (330, 390)
    assert "60 mm short of every inside corner" in first.text
    assert "to (390 mm from the home end and 390 mm from the home side)" in first.text
    assert "from (330 mm from the home end and 450 mm from the home side)" in first.text
    assert "what the guided saw left" in second.text
    (cut,) = plan.sources[0].cuts
    assert cut.saw == "jigsaw"


def test_a_scribed_piece_is_offered_up_on_site_before_its_cut() -> None:
    plan = planned([piece(0, END, END_CUT, scribe=True)])
    assert {step.where for step in plan.steps} == {"site"}
    offered = next(step for step in steps_that(plan, "mark") if "offer the tile up" in step.text)
    assert "in the waste, 10 to 15 mm off the line" in offered.text  # rules.scribe_spare
    assert all(offered.n < step.n for step in plan.steps if step.do in ("unscrew", "re-hang", "cut"))


def test_marks_that_are_corrected_on_site_name_the_face_of_each_cut() -> None:
    """An end cut at the table saw, face up; a corner notch with the jigsaw, face down."""
    notch = Notch(path=ticks([(420, 480), (340, 480), (340, 600)]))
    plan = planned([piece(0, END, END_CUT, [notch], fixed=("u0", "v0", "v1"), scribe=True)])
    offered = next(step for step in steps_that(plan, "mark") if "offer the tile up" in step.text)
    faces = {cut.n: step.face for cut in plan.sources[0].cuts for step in steps_that(plan, "cut") if step.cut == cut.n}
    first = min(faces)
    assert offered.face == faces[first]
    assert sorted(faces.values()) == ["down", "up"]
    (other,) = [n for n, face in faces.items() if face != faces[first]]
    assert (
        f"correct, face {offered.face}, the marks, or the fence, of cut {first} and, turned over, of cut {other}."
        in (offered.text)
    )


def test_ends_of_a_backer_are_told_from_one_side_the_nearer_first() -> None:
    rip = piece(0, END, END_CUT)
    texts = [step.text for step in steps_that(planned([rip]), "re-hang")]
    assert texts
    assert all("its ends 6 and 594 mm from the home side" in text for text in texts)


def test_predrilled_screws_are_said_with_their_bit_once() -> None:
    """112 across, 25.3 mm of the second slat: below 32 a screw is predrilled; #8 in dense wood: a bit of 3 mm."""
    strip = [(0.0, 0.0), (600.0, 0.0), (600.0, 112.0), (0.0, 112.0)]
    plan = planned([piece(0, strip, [[(600, 112), (0, 112)]], fixed=("u0", "u1", "v0"))])
    texts = [step.text for step in steps_that(plan, "screw")]
    assert texts
    assert all(text.count("predrilled (bit of 3 mm, stop collar at 33 mm)") == 1 for text in texts)
    assert not any("narrow" in text for text in texts)


def test_holes_name_bit_and_stop_collar() -> None:
    """A rip loses the holes at its far side; new ones go through the backer, 18 mm, and not into the slat."""
    rip = piece(0, [(0, 0), (600, 0), (600, 420), (0, 420)], [[(600, 420), (0, 420)]], fixed=("u0", "u1", "v0"))
    text = the(planned([rip]), "drill")
    assert "Face down. Bit of 12 mm, stop collar at 18 mm" in text


#   ┌────────┬────────┐
#   │   P1   │   P2   │     a tile split around a post: both halves of one cell, on one tile, as they lie
#   └────────┴────────┘
def test_halves_of_a_split_piece_are_drilled_before_the_split() -> None:
    low = piece(0, [(0, 0), (600, 0), (600, 254), (0, 254)], [[(600, 254), (0, 254)]], fixed=("u0", "u1", "v0"))
    high = piece(0, [(0, 259), (600, 259), (600, 600), (0, 600)], [[(0, 259), (600, 259)]], fixed=("u0", "u1", "v1"))
    plan = planned([low, high])
    assert len(plan.sources) == 1
    first = min(step.n for step in steps_that(plan, "cut"))
    holes = steps_that(plan, "drill")
    assert holes
    assert all(step.n < first and "before the tile is split" in step.text for step in holes)
    apart = planned([low, piece(1, END, END_CUT)])
    cuts = {step.source: step.n for step in steps_that(apart, "cut")}
    assert all(step.n > cuts[step.source] for step in steps_that(apart, "drill"))


def test_a_strip_of_a_backer_beside_a_notch_is_named() -> None:
    """A notch of 30 x 170 takes 20 of the first backer's 60 mm (10 to 70): the backer counts from 170 on, the other 40
    of it stay on or are sawn off, as another board wants the place or not.
    """
    notch = Notch(path=ticks([(0, 170), (30, 170), (30, 0)]))
    plan = planned([piece(0, notches=[notch], fixed=("u0", "u1", "v1"))])
    (step,), (source,) = steps_that(plan, "cut"), plan.sources
    (first,) = [b for b in source.backers if b.from_ is not None and b.from_.backer == 1]
    assert (first.state, first.line[0]) == ("cut", (40, 170))
    strip = shapely.box(30, 6, 70, 170)
    boards = [shapely.LineString(b.line).buffer(b.width / 2, cap_style="flat") for b in source.backers if b != first]
    in_the_way = any(board.intersection(strip).area > 1 for board in boards)
    words = "backer 1 beside the notch off where" if in_the_way else "backer 1 beside the notch stays on it"
    assert f"strip of {words}" in step.text


def test_a_corner_notch_wider_than_the_backer_leaves_no_strip() -> None:
    notch = Notch(path=ticks([(0, 115), (115, 115), (115, 0)]))
    (step,) = steps_that(planned([piece(0, notches=[notch], fixed=("u1", "v1"))]), "cut")
    assert "strip" not in step.text
    assert "stub" not in step.text


#   ┌──────┬─────────┐ 600
#   │ W    │ ║  P2 ║ │       backer 2, u 270 to 330, is in P1; in P2 the crosscut at 285 leaves a strip of it, which no
#   ├──────┴─────────┤ 433    screw holds, and P2 has a board of its own beside it
#   ├────────────────┤ 169
#   │ ║   P1  ║    ║ │
#   └────────────────┘
def test_a_stub_that_a_through_cut_frees_is_named() -> None:
    strip = piece(
        0, [(0, 0), (600, 0), (600, 169), (0, 169)], [[(600, 169), (0, 169)]], fixed=("u0", "u1", "v0")
    )  # fmt: skip
    corner: list[tuple[float, float]] = [(285, 433), (600, 433), (600, 600), (285, 600)]
    other = piece(1, corner, [[(0, 433), (600, 433)], [(285, 600), (285, 0)]], fixed=("u1", "v1"))
    plan = planned([strip, other])
    (source,) = plan.sources
    made = {b.piece for b in source.backers if b.from_ is not None and b.from_.backer == 2 and b.state == "cut"}
    assert made == {"P1"}
    assert not any(s.piece == "P2" and s.u < 330 and s.state == "kept" for s in source.screws)
    (step,) = [step for step in steps_that(plan, "cut") if "stub" in step.text]
    (cut,) = [cut for cut in source.cuts if cut.n == step.cut]
    assert {u for u, _ in cut.path} == {285}
    assert "The stub of backer 2 that is cut off comes away" in step.text
    assert "the stub of backer 2 comes away" in step.falls_off


def test_one_open_part_is_no_parts() -> None:
    shut = room(1639, 1012, more=post_text(1330, 300, 100))
    told = [warning for warning in plan_of(shut).warnings if "open" in warning]
    assert told == ["1 part of a cell stays open: see the list of what stays open, with the rule behind each"]


def test_slats_that_share_are_ripped_alone_at_the_table_saw() -> None:
    """Ripped to 180 a slat of 6.7 mm would be left: slats 2 and 3 share (180 - 86.7 - 6.7) / 2 = 43.3, whole mm."""
    rip = piece(0, [(0, 0), (600, 0), (600, 180), (0, 180)], [[(600, 180), (0, 180)]], fixed=("u0", "u1", "v0"))
    plan = planned([rip])
    alone, through = steps_that(plan, "cut")
    assert (alone.station, alone.cut, alone.sum) == ("table saw", None, "43 + 3.2 + 33.8 = 80")
    assert alone.setup is not None
    assert (alone.setup.fence, alone.setup.datum) == (43, "v0")  # the edge that stays whole is nearer the home side
    assert "Rip slat 2 to 43 mm" in alone.text
    assert "push stick" in alone.text
    back = next(step for step in steps_that(plan, "screw") if "Lay slat" in step.text)
    assert alone.n < back.n < through.n


def test_a_ripped_backer_and_one_that_leans_say_how_they_are_made() -> None:
    narrow = piece(0, [(0, 0), (112, 0), (112, 600), (0, 600)], [[(112, 0), (112, 600)]])
    texts = " ".join(step.text for step in steps_that(planned([narrow]), "re-hang"))
    assert texts.count("ripped to 40 mm") == 2
    slant = piece(0, [(0, 0), (480, 0), (230, 600), (0, 600)], [[(480, 0), (230, 600)]])
    plan = planned([slant])
    leaning = [b for s in plan.sources for b in s.backers if b.line[0][0] != b.line[-1][0]]
    hung = {step.backer: step.text for step in steps_that(plan, "re-hang")}
    for backer in leaning:
        assert "its ends sawn square to it" in hung[backer.id]
    assert len(leaning) == sum("it lies oblique" in text for text in hung.values())


#   backers of 60 for a piece of 112: 40 is kept, 10 off each edge. First 60 - 10 = 50 to the fence, then 40
def test_a_backer_is_ripped_in_two_passes_before_it_is_hung() -> None:
    narrow = piece(0, [(0, 0), (112, 0), (112, 600), (0, 600)], [[(112, 0), (112, 600)]])
    plan = planned([narrow])
    passes = [step for step in steps_that(plan, "cut") if step.cut is None]
    told = [(step.backer, step.setup.fence if step.setup else None, step.sum) for step in passes]
    first, second = "50 + 3.2 + 6.8 = 60", "40 + 3.2 + 6.8 = 50"
    # pass by pass: the fence is set twice, not four times
    assert told == [("T1.b1", 50, first), ("T1.b3", 50, first), ("T1.b1", 40, second), ("T1.b3", 40, second)]
    assert all(step.station == "table saw" and "push sticks" in step.text for step in passes)
    assert "rip it to 40 mm, 10 mm off each edge" in passes[0].text
    out = max(step.n for step in steps_that(plan, "unscrew"))
    assert out < passes[0].n < passes[-1].n < min(step.n for step in steps_that(plan, "re-hang"))
    assert list(ripping(gather(plan))) == []
    assert plan.totals.setups == 3


def test_a_backer_is_ripped_along_a_line_where_there_is_no_table_saw() -> None:
    job = room(1820, 1216, before='[cut]\nsaws = ["guided saw", "jigsaw"]\n[rules]\nspare_backers = 99\n')
    narrow = piece(0, [(0, 0), (112, 0), (112, 600), (0, 600)], [[(112, 0), (112, 600)]])
    plan = planned([narrow], job)
    passes = [step for step in steps_that(plan, "cut") if step.cut is None]
    assert [(step.station, step.setup) for step in passes] == [("guided saw", None)] * 4
    assert "along a line 10 mm from an edge" in passes[0].text
    assert list(ripping(gather(plan))) == []


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda steps: [s for s in steps if s.backer != "T1.b1" or s.do != "cut"], "ripped in 0 passes; 2 are meant"),
        (lambda steps: [refenced(s) for s in steps], "fence 51; the board is ripped to 50"),
        (lambda steps: [s for s in steps if s.do != "cut"] + [s for s in steps if s.do == "cut"], "before step"),
        (lambda steps: [s.model_copy(update={"sum": "50 + 3.2 + 6.9 = 60"}) for s in steps], "is meant"),
    ],
    ids=["never", "fence", "after it is hung", "sum"],
)
def test_the_check_sees_a_backer_ripped_wrongly(spoil: Callable[[list[Step]], list[Step]], said: str) -> None:
    plan = planned([piece(0, [(0, 0), (112, 0), (112, 600), (0, 600)], [[(112, 0), (112, 600)]])])
    steps = [step.model_copy(update={"n": n}) for n, step in enumerate(spoil(list(plan.steps)), 1)]
    found = [str(fault) for fault in ripping(gather(plan.model_copy(update={"steps": tuple(steps)})))]
    assert any(said in fault for fault in found), found


def refenced(step: Step) -> Step:
    setup = step.setup
    if setup is None or setup.fence != 50:
        return step
    return step.model_copy(update={"setup": setup.model_copy(update={"fence": 51.0})})


def test_nothing_loose_is_sawn_in_these_plans(ringed: Plan) -> None:
    ends = [piece(n, [(0, 0), (x, 0), (x, 600), (0, 600)], [[(x, 0), (x, 600)]]) for n, x in enumerate((112, 180, 296))]
    for plan in (ringed, planned(ends)):
        assert list(holding(gather(plan))) == []


#   two strips of 112 from one tile: each keeps 25.3 mm of its second slat, one screw a crossing there, predrilled
def test_a_tile_is_warned_of_once_with_the_screws_of_all_its_pieces() -> None:
    strip = [(0.0, 0.0), (600.0, 0.0), (600.0, 112.0), (0.0, 112.0)]
    plan = planned([piece(col, strip, [[(600, 112), (0, 112)]], fixed=("u0", "u1", "v0")) for col in (0, 1)])
    (source,) = plan.sources
    assert {placement.piece for placement in source.placements} == {"P1", "P2"}
    told = [warning for warning in plan.warnings if warning.startswith("T1: ")]
    assert told == ["T1: new screws near an edge or end, to be predrilled: 6"]
