"""Tiles whose own design breaks the rules, and pieces that cannot be hung anywhere (common practice, no source)."""

from __future__ import annotations

from dataclasses import fields

import pytest

from cutopt.checks import check
from cutopt.errors import NoPlan
from cutopt.fit import Refusal, fit
from cutopt.job.records import Job
from cutopt.planfile import Plan
from cutopt.planning import plan
from cutopt.rules import load_rules
from tests.fit.shapes import WORKED, across, end_notch, ripped, triangle
from tests.jobs import job_of
from tests.plans import plan_of

# a row of one whole tile and a crosscut of what is left; `pins`: pin offset, hole inset along and across, which set the
# pitch. Each breaks one rule by its own design.
BROKEN = {
    "slat's edge": ('screws = {inset = "8 mm"}\nbackers = {inset = 0}\n', (42, 40, 40), "slat's edge is 8 mm"),
    "two screws of a crossing": (
        'screws = {inset = "33 mm"}\npin_holes = {inset = ["40 mm", "60 mm"]}\nsupport = {pin_offset = "62 mm", '
        'pad = ["160 mm", "160 mm"]}\n',
        (62, 40, 60),
        "two screws of a crossing is 14 mm",
    ),
    "bay": ('backers = {at = ["40 mm", "560 mm"]}\n', (42, 40, 40), "bay between backers is 520 mm"),
    "hole by a screw": (
        'pin_holes = {inset = ["40 mm", "50 mm"]}\nsupport = {pin_offset = "51 mm"}\n',
        (51, 40, 50),
        "hole's centre is 10 mm",
    ),
    "hole off the middle": (
        'pin_holes = {inset = ["58 mm", "40 mm"]}\nsupport = {pin_offset = "60 mm", pad = ["160 mm", "160 mm"]}\n',
        (60, 58, 40),
        "around a pin hole is 6 mm",
    ),
    "overhang": (
        'backers = {at = ["160 mm", "300 mm", "440 mm"]}\npin_holes = {inset = ["160 mm", "40 mm"]}\n'
        'support = {pin_offset = "161 mm", pad = ["400 mm", "400 mm"]}\n',
        (161, 160, 40),
        "overhang past its last backer is 130 mm",
    ),
}


def broken(name: str) -> str:
    keys, (offset, along, across_), _ = BROKEN[name]
    pitch = f'pitch = ["{600 + 2 * (offset - along)} mm", "{600 + 2 * (offset - across_)} mm"]\n'
    return (
        f'[tile]\nuse = "hardwood-600"\n{keys}[lay]\ngrid = "full-first"\n{pitch}'
        '[[area]]\nname = "Room"\ncorners = [[0, 0], [1039, 0], [1039, 612], [0, 612]]\n'
    )


@pytest.mark.parametrize("name", BROKEN)
def test_a_tile_that_breaks_a_rule_by_design_is_used_and_said_to(name: str) -> None:
    job: Job = job_of(broken(name))
    said = BROKEN[name][2]
    assert any(said in warning for warning in job.tile.warnings)
    made = plan_of(broken(name))
    assert any(said in warning for warning in made.warnings)
    assert [cell.kind for cell in made.areas[0].cells] == ["whole", "cut"]


@pytest.mark.parametrize("name", BROKEN)
def test_a_plan_of_a_tile_that_breaks_a_rule_by_design_passes_the_check(name: str) -> None:
    """What the tile already does is no fault of the plan; new screws and holes keep the rules."""
    assert [str(finding) for finding in check(plan_of(broken(name)))] == []


def test_a_sound_tile_is_warned_of_nothing() -> None:
    """5 D = 20.8 mm to the backers' ends: with backers from edge to edge and screws at 21 nothing is short."""
    text = '[tile]\nuse = "hardwood-600"\nbackers = {inset = 0}\nscrews = {inset = "21 mm"}\n'
    job = job_of(text + '[[area]]\nname = "Room"\ncorners = [[0, 0], [2000, 0], [2000, 1400], [0, 1400]]\n')
    assert job.tile.warnings == ()


OBLIQUE = '[lay]\ngrid = "full-first"\n[[area]]\nname = "Room"\ncorners = [[0, 0], [1300, 0], [615, 615], [0, 615]]\n'


def left_open(made: Plan) -> list[tuple[str, str]]:
    return [(left.rule, left.why) for area in made.areas for cell in area.cells for left in cell.left]


def test_a_piece_that_cannot_be_hung_is_left_open_and_said_why() -> None:
    """A whole tile beside what an oblique wall leaves of two cells: the sharp piece has no room for its backers."""
    made = plan(WORKED.job(OBLIQUE))
    assert "whole" in {cell.kind for cell in made.areas[0].cells}
    found = left_open(made)
    assert found
    for rule, why in found:
        assert rule in made.rules or rule in ("fragment_held", "one_whole")
        assert any(letter.isdigit() for letter in why), f"{why!r} names no number"
    assert any("stay open" in warning for warning in made.warnings)


def test_what_is_left_open_says_what_would_work() -> None:
    found = left_open(plan(WORKED.job(OBLIQUE)))
    assert all(any(word in why for word in ("would do", "would work", "instead", "if")) for _, why in found)


def test_there_is_no_plan_only_where_nothing_can_be_laid() -> None:
    alone = '[lay]\ngrid = "full-first"\n[[area]]\nname = "Room"\ncorners = [[0, 0], [520, 0], [0, 420]]\n'
    with pytest.raises(NoPlan) as caught:
        plan(WORKED.job(alone))
    assert caught.value.rule in rule_names() | {"fragment_held", "one_whole"}
    assert "nothing can be laid" in str(caught.value)


def rule_names() -> set[str]:
    return {field.name for field in fields(load_rules())}


@pytest.mark.parametrize(
    "outline",
    [
        triangle(150, 150),
        triangle(600, 300),
        across(WORKED, 70),  # no room for two backers
        ripped(WORKED, 20),  # a single fragment of 20 mm
        end_notch(WORKED, (70, 95), 400),  # a neck of 15 mm along slat 2, 400 long
    ],
    ids=["small triangle", "sharp triangle", "too short", "too thin", "neck"],
)
def test_a_refusal_names_a_rule_with_its_numbers(outline: tuple[tuple[int, int], ...]) -> None:
    job = WORKED.job()
    answer = fit(outline, job.tile, job.rules)
    assert isinstance(answer, Refusal)
    assert answer.rule in rule_names() | {"fragment_held", "one_whole"}
    assert any(letter.isdigit() for letter in answer.why) or "single" in answer.why, answer.why
