"""The order of the cuts by hand: notches of any shape, rings, long legs, and nothing loose between fence and blade.

Tile 600 x 600 mm, slats of 80 with gaps of 6.67, backers of 60 at u = 40, 300 and 560. Kerfs: table saw 3.2, guided saw
2.2, jigsaw 1.5 mm.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from cutopt.cut.holding import Hold, Tie
from cutopt.cut.notching import prepared
from cutopt.cut.records import Place, SawCut, SawTree
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.fit import Fit
from cutopt.geometry import Ring, area2, rectangle
from cutopt.job.records import SawName
from cutopt.lay.records import Notch, Shape
from tests.jobs import room

JOB = room(1820, 1216)
TILE, T = JOB.tile, 320
SAWS = Saws(tile=TILE, rules=JOB.rules, cutting=JOB.cutting)
NO_FIT = Fit(fragments=(), seats=(), drives=(), stands=(), minutes=0)
Spots = list[tuple[float, float]]


def ticks(spots: Spots) -> Ring:
    return tuple((round(x * T), round(y * T)) for x, y in spots)


def place(outline: Spots, chords: list[Spots] | None = None, notches: tuple[Notch, ...] = ()) -> Place:
    lines = tuple((a, b) for a, b in map(ticks, chords or []))
    shape = Shape(outline=ticks(outline), chords=lines, notches=notches)
    return Place(kind=0, half_turn=False, shift=(0, 0), shape=shape, fit=NO_FIT)


def tree_of(*places: Place, saws: Saws = SAWS, hold: Hold | None = None) -> SawTree:
    tree = saw_tree(places, rectangle(TILE.length, TILE.width), saws, hold)
    assert tree is not None
    return tree


def only(tree: SawTree) -> tuple[SawCut, float]:
    """The one cut, and the area in mm2 of the one leftover."""
    (cut,), ((_, rest),) = tree.cuts, tree.rests
    return cut, area2(rest) / 2 / T / T


WHOLE: Spots = [(0, 0), (600, 0), (600, 600), (0, 600)]


#        430   520  600
#   ┌─────┐             600      a stair of four legs that turns right, left and right: what falls off is a block of
#   │ P   └────┐        500      170 x 100 beside one of 80 x 80, less a kerf along each leg
#   │          └────┐   420
#   └───────────────┘
def test_a_stair_notch_turns_both_ways() -> None:
    path: Spots = [(600, 420), (520, 420), (520, 500), (430, 500), (430, 600)]
    outline: Spots = [(0, 0), (600, 0), (600, 420), (520, 420), (520, 500), (430, 500), (430, 600), (0, 600)]
    cut, rest = only(tree_of(place(outline, notches=(Notch(path=ticks(path)),))))
    assert (cut.saw, cut.path, cut.closed) == ("jigsaw", ticks(path), False)
    # kept to the left; the waste starts 1.5 right of each leg: v > 421.5 for u > 521.5, v > 501.5 for u > 431.5
    assert rest == pytest.approx((600 - 521.5) * (600 - 421.5) + (521.5 - 431.5) * (600 - 501.5), abs=0.5)


#   ┌──┐          ┌──┐
#   │  │  180x230 │  │     a U: 210..390 by 370..600, the waste less 1.5 on three sides
#   │  └──────────┘  │
#   └────────────────┘
def test_an_edge_notch_of_three_legs() -> None:
    path: Spots = [(390, 600), (390, 370), (210, 370), (210, 600)]
    outline: Spots = [(0, 0), (600, 0), (600, 600), (390, 600), (390, 370), (210, 370), (210, 600), (0, 600)]
    _, rest = only(tree_of(place(outline, notches=(Notch(path=ticks(path)),))))
    assert rest == pytest.approx((180 - 3) * (230 - 1.5), abs=0.5)


def test_a_ring_leaves_the_piece_around_it_and_the_inside_less_the_kerf() -> None:
    ring: Spots = [(240, 240), (240, 360), (360, 360), (360, 240)]  # clockwise: kept on its left, around it
    cut, rest = only(tree_of(place(WHOLE, notches=(Notch(path=ticks(ring), closed=True),))))
    assert cut.closed
    assert cut.saw == "jigsaw"
    assert rest == pytest.approx((120 - 2 * 1.5) ** 2, abs=0.1)


def test_a_round_notch_carries_centre_and_radius() -> None:
    # a half circle of radius 61 about (500, 300), open to the far end; a polyline of 16 lines just outside the arc
    radius, lines = 61.0, 16
    out = radius / math.cos(math.pi / (2 * lines))
    arc = [
        (500 - out * math.sin(a), 300 - out * math.cos(a)) for a in (math.pi * (k + 0.5) / lines for k in range(lines))
    ]
    path: Spots = [(600, 239), (500, 239), *arc, (500, 361), (600, 361)]
    outline: Spots = [(0, 0), (600, 0), *path, (600, 600), (0, 600)]
    notch = Notch(path=ticks(path), centre=ticks([(500, 300)])[0], radius=61 * T)
    cut, rest = only(tree_of(place(outline, notches=(notch,))))
    assert (cut.centre, cut.radius) == ((500 * T, 300 * T), 61 * T)
    # the waste: a half disc of 61 - 1.5 and a rectangle of 100 x 2 * 59.5; the polyline adds under 0.4 % of the disc
    half = math.pi * 59.5**2 / 2
    assert half + 100 * 119 <= rest <= half * 1.004 + 100 * 119 + 1


def test_a_notch_after_a_through_cut_starts_at_the_sawn_edge() -> None:
    # crosscut at 420, then a corner of 60 x 70 out of its far side: waste 58.5 x 68.5
    outline: Spots = [(0, 0), (420, 0), (420, 530), (360, 530), (360, 600), (0, 600)]
    notch = Notch(path=ticks([(420, 530), (360, 530), (360, 600)]))
    tree = tree_of(place(outline, [[(420, 0), (420, 600)]], (notch,)))
    assert [cut.saw for cut in tree.cuts] == ["table_saw", "jigsaw"]
    areas = sorted(area2(ring) / 2 / T / T for _, ring in tree.rests)
    assert areas == pytest.approx([58.5 * 68.5, (600 - 423.2) * 600], abs=0.5)


# A leg longer than the jigsaw's 700 is cut by a guided saw first, 60 short of an inside corner, where the path turns
# right; where it turns left the saw runs on in waste.
def test_long_legs_stop_short_of_inside_corners() -> None:
    corner = Notch(path=ticks([(1000, 300), (100, 300), (100, 600)]))  # along 900, then up 300: one right turn
    assert prepared(corner, 700 * T, 60 * T) == (ticks([(1000, 300), (160, 300)]),)
    both = Notch(path=ticks([(100, 600), (100, 300), (1000, 300), (1000, 600)]))  # left turns: outside corners
    assert prepared(both, 700 * T, 60 * T) == (ticks([(100, 300), (1000, 300)]),)
    inside = Notch(path=both.path[::-1])  # the same, the wood on the other side: right turns
    assert prepared(inside, 700 * T, 60 * T) == (ticks([(940, 300), (160, 300)]),)
    ring = Notch(path=ticks([(100, 100), (100, 900), (300, 900), (300, 100)]), closed=True)  # two legs of 800
    assert prepared(ring, 700 * T, 60 * T) == (ticks([(100, 160), (100, 840)]), ticks([(300, 840), (300, 160)]))
    assert prepared(corner, 900 * T, 60 * T) == ()


def test_only_a_job_with_a_guided_saw_has_its_long_legs_prepared() -> None:
    short = replace(SAWS, rules=replace(SAWS.rules, jigsaw_reach=200 * T))
    path: Spots = [(600, 300), (300, 300), (300, 600)]
    piece = place([(0, 0), (600, 0), *path, (0, 600)], notches=(Notch(path=ticks(path)),))
    cut, _ = only(tree_of(piece, saws=short))
    assert cut.prepared == (ticks([(600, 300), (360, 300)]), ticks([(300, 360), (300, 600)]))
    bare = replace(short, cutting=replace(JOB.cutting, saws=("table_saw", "jigsaw")))
    assert only(tree_of(piece, saws=bare))[0].prepared == ()


def hold(out: set[int] = frozenset(), gone: set[tuple[int, int]] = frozenset()) -> Hold:  # type: ignore[assignment]
    """The tile as made but for backers whose screws are all out, and single crossings (slat, backer) that are."""
    return Hold(
        slats=tuple((s.id, shapely.box(0, s.v[0], TILE.length, s.v[1])) for s in TILE.slats),
        boards=tuple(
            (str(b.id), shapely.box(b.u - b.width / 2, b.v[0], b.u + b.width / 2, b.v[1])) for b in TILE.backers
        ),
        ties=tuple(
            Tie(at=s.at, slat=s.slat, board=str(s.backer))
            for s in TILE.screws
            if s.backer not in out and (s.slat, s.backer) not in gone
        ),
    )


END: Spots = [(0, 0), (420, 0), (420, 600), (0, 600)]
END_CUT: list[Spots] = [[(420, 0), (420, 600)]]


def cut_of(end: Place, hold: Hold, saws: tuple[SawName, ...] = JOB.cutting.saws) -> SawCut:
    return tree_of(end, saws=replace(SAWS, cutting=replace(JOB.cutting, saws=saws)), hold=hold).cuts[0]


def test_the_kept_part_runs_at_the_fence_where_it_is_held() -> None:
    cut = cut_of(place(END, END_CUT), hold(out={3}))
    assert (cut.saw, cut.datum, cut.fence, cut.kept_at_fence) == ("table_saw", "u0", 420 * T, True)
    assert cut.loose == ()


def test_the_other_part_runs_at_the_fence_where_the_kept_one_is_loose() -> None:
    # slats 4 has no screw in backers 1 and 2 now: between fence and blade it would lie loose
    cut = cut_of(place(END, END_CUT), hold(gone={(4, 1), (4, 2)}))
    # 600 - 420 - 3.2 from the far end to the near side of the kerf
    assert (cut.saw, cut.datum, cut.kept_at_fence) == ("table_saw", "u1", False)
    assert cut.fence == round((600 - 420 - 3.2) * T)
    assert cut.loose == ()  # backer 3 still holds it while it is sawn


def test_the_guided_saw_cuts_where_both_parts_are_loose() -> None:
    loose = hold(out={3}, gone={(4, 1)})
    part = place([(0, 0), (250, 0), (250, 600), (0, 600)], [[(250, 0), (250, 600)]])
    cut = cut_of(part, loose)  # 0..250 has slat 4 loose; 253.2..600 has backer 2 alone, which ties all of it
    assert (cut.saw, cut.datum) == ("table_saw", "u1")
    loose = hold(out={2, 3}, gone={(4, 1)})
    cut = cut_of(part, loose)
    assert (cut.saw, cut.fence, cut.kerf) == ("guided_saw", None, round(2.2 * T))
    assert cut.loose == (4,)  # nothing at all holds slat 4
    assert cut_of(part, loose, saws=("table_saw", "jigsaw")).saw == "jigsaw"
    last = cut_of(part, loose, saws=("table_saw",))
    assert (last.saw, last.kept_at_fence, last.loose_at_fence) == ("table_saw", True, True)


#   ┌────┬───────────┐ 600    a corner of 250 x 300 while backer 1 is off. Crosscut first (most waste), nothing would
#   │    │ waste     │        hold slat 4 of what is left, 0 to 250, in the rip along its middle. So the rip comes
#   ├────┴──── 300 ──┤        first: slats 1 to 4 hang together on backers 2 and 3. Then the crosscut: its home end is
#   │ P  │           │        loose, at the far end 300 of edge are less than the 347 to the blade: the guided saw
#   └────┴───────────┘
def test_of_two_orders_the_one_that_holds_is_taken() -> None:
    corner = place([(0, 0), (250, 0), (250, 300), (0, 300)], [[(250, 0), (250, 600)], [(600, 300), (0, 300)]])
    usual = tree_of(corner).cuts
    assert [(cut.saw, cut.datum) for cut in usual] == [("table_saw", "u0"), ("guided_saw", None)]
    tree = tree_of(corner, hold=hold(out={1}))
    assert [(cut.saw, cut.datum) for cut in tree.cuts] == [("table_saw", "v0"), ("guided_saw", None)]
    assert all(cut.loose == () for cut in tree.cuts)


def test_a_sliver_of_a_backer_at_the_fence_is_loose_wood() -> None:
    # at 275 the blade leaves 5 mm of backer 2 (270 to 330) on the kept side, its screws at 300 on the other
    part = place([(0, 0), (275, 0), (275, 600), (0, 600)], [[(275, 0), (275, 600)]])
    cut = cut_of(part, hold())
    assert (cut.datum, cut.kept_at_fence) == ("u1", False)
