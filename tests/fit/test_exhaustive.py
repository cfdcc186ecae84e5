"""The fitting against an exhaustive search on a coarse grid, on tiles small enough for it.

Whatever is refused, the search finds no way either; whatever is accepted keeps every rule, and takes no more minutes
than the least that the search finds.
"""

from __future__ import annotations

import random

import pytest
import shapely

from cutopt.fit import Fit, fit
from tests.fit.casing import Case
from tests.fit.exhaustive import any_way, as_text, boards_of, cheapest
from tests.fit.judging import judge
from tests.fit.shapes import KINDS, MM, NAMED, WORKED, Anatomy, across, corner_notch, drawn_piece, ripped, taper
from tests.fit.working import work_of, worth_of

# two to four slats, two or three backers: each has at most a few thousand sets of boards on the grid
SMALL = {
    "four slats, two backers": NAMED["two backers"],
    "three slats, three backers": Anatomy(length=280, width=228, slats=3, slat=72, backers=(40, 140, 240)),
    "two slats, two backers": Anatomy(length=300, width=152, slats=2, slat=72, backers=(40, 260)),
    "one screw a crossing": Anatomy(
        length=300, width=228, slats=3, slat=72, backers=(49, 150, 251), a_crossing=1, hole=(49, 49)
    ),
    "asymmetric": Anatomy(length=320, width=228, slats=3, slat=72, backers=(40, 140, 280)),
}


def case_of(anatomy: Anatomy, outline: tuple[tuple[int, int], ...]) -> Case:
    job = anatomy.job()
    return Case(tile=job.tile, rules=job.rules, outline=outline)


def pieces(name: str, seeds: int) -> list[tuple[str, Case]]:
    """Some pieces of each kind on a small tile."""
    dice = random.Random(name)
    return [
        (kind, case_of(SMALL[name], drawn_piece(dice.randint, SMALL[name], kind)))
        for kind in KINDS
        for _ in range(seeds)
    ]


def in_waste(case: Case) -> float:
    """Minutes for the tile's screws inside the piece's extent and outside its ring."""
    u0, v0, u1, v1 = case.polygon.bounds
    inside = [s for s in case.tile.screws if u0 <= s.at[0] <= u1 and v0 <= s.at[1] <= v1]
    return case.rules.rate_screw_out * sum(not case.polygon.covers(shapely.Point(s.at)) for s in inside)


@pytest.mark.parametrize("name", SMALL)
def test_what_is_refused_has_no_way_on_the_grid(name: str) -> None:
    refused = 0
    for kind, case in pieces(name, 4):
        answer = fit(case.outline, case.tile, case.rules)
        if isinstance(answer, Fit):
            continue
        refused += 1
        way = any_way(case)
        assert way is None, f"{kind} refused by {answer.rule}: {as_text(case, way)}"
    assert refused  # or nothing was looked at


@pytest.mark.parametrize("name", SMALL)
def test_what_is_accepted_keeps_every_rule(name: str) -> None:
    accepted = 0
    for kind, case in pieces(name, 8):
        answer = fit(case.outline, case.tile, case.rules)
        if isinstance(answer, Fit):
            accepted += 1
            assert judge(case, answer) == [], f"{kind} {as_text(case, answer)}"
            # the fit counts the screws in a notch's waste as taken out too; some lie near the blade, and are
            assert work_of(case, answer) - 1e-6 <= answer.minutes <= work_of(case, answer) + in_waste(case) + 1e-6
    assert accepted > 20


@pytest.mark.parametrize("name", SMALL)
def test_no_way_on_the_grid_takes_less_work(name: str) -> None:
    for kind, case in pieces(name, 4):
        answer = fit(case.outline, case.tile, case.rules)
        if isinstance(answer, Fit) and answer.least:
            way = cheapest(case, worth_of(case, answer))
            assert way is None, f"{kind} takes {answer.minutes:.2f}; {as_text(case, way)}"


def test_what_the_search_finds_keeps_every_rule() -> None:
    """Or its ways would be worth nothing."""
    found = 0
    for name in SMALL:
        for kind, case in pieces(name, 2):
            way = any_way(case, 100)
            if way is not None:
                found += 1
                assert judge(case, way) == [], f"{kind} {as_text(case, way)}"
    assert found > 30


@pytest.mark.parametrize(
    ("outline", "minutes"),
    [
        (across(WORKED, 588), 0.0),
        # 420: one backer hung, 14 screws out and in again: 0.7 + 14 x 0.2; 7 x 2 out of the old one besides are in the
        # waste
        (across(WORKED, 420), 0.7 + 14 * 0.2),
        (ripped(WORKED, 588), 3 * 0.08),  # the outer screws of the last slat, 8 mm from the cut: 12 are wanted
        (ripped(WORKED, 420), 2 * 0.6),  # two holes drilled
    ],
    ids=["across 588", "across 420", "ripped 588", "ripped 420"],
)
def test_the_search_finds_what_the_worked_pieces_take(outline: tuple[tuple[int, int], ...], minutes: float) -> None:
    """The search against hand arithmetic, on the tile of the worked pieces; sets dearer than that are left out."""
    case = case_of(WORKED, outline)
    way = cheapest(case, minutes + 0.3)
    assert way is not None
    assert way.minutes <= minutes + 1e-6


@pytest.mark.parametrize(
    "outline",
    [
        across(WORKED, 588), across(WORKED, 420), across(WORKED, 180), across(WORKED, 112), ripped(WORKED, 588),
        ripped(WORKED, 420), taper(WORKED, 600, 540), corner_notch(WORKED, 115, 115),
    ],
    ids=["588", "420", "180", "112", "ripped 588", "ripped 420", "taper", "notch"],
)  # fmt: skip
def test_no_way_on_the_grid_is_cheaper_for_a_worked_piece(outline: tuple[tuple[int, int], ...]) -> None:
    case = case_of(WORKED, outline)
    answer = fit(outline, case.tile, case.rules)
    assert isinstance(answer, Fit), answer
    assert judge(case, answer) == []
    way = cheapest(case, worth_of(case, answer))
    assert way is None, f"takes {answer.minutes:.2f}; {as_text(case, way)}"


def test_the_search_has_boards_to_choose_from() -> None:
    """A crosscut of 420: the two backers that stay, and every 10 mm a board of 60 and one of 40 mm."""
    case = case_of(WORKED, across(WORKED, 420))
    boards = boards_of(case)
    assert {b.seat.u // MM for b in boards if b.seat.state == "kept"} == {40, 300}
    hung = [b for b in boards if b.seat.state == "open"]
    assert {b.seat.width // MM for b in hung} == {40, 60}
    assert len(hung) > 40
