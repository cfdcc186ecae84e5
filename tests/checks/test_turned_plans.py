"""Half turns, quarter turns and copies, derived by hand from the small plan."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import pytest

from cutopt.checks import check
from tests.checks import (
    spoiled_backers,
    spoiled_cells,
    spoiled_cuts,
    spoiled_placements,
    spoiled_screws,
    spoiled_steps,
    spoiled_sums,
    spoiled_supports,
)
from tests.checks.small_plan import Json, as_plan, said
from tests.checks.spoiling import Corruption, NoVictim
from tests.checks.turned_plans import half_turned, quarter_turned, three_alike

MADE = (half_turned, quarter_turned, three_alike)
# what a turn or copies could hide from the check
CONCERNS: dict[Callable[[], Json], tuple[ModuleType, ...]] = {
    half_turned: (spoiled_placements, spoiled_cuts, spoiled_screws, spoiled_backers),
    quarter_turned: (spoiled_cells, spoiled_supports),
    three_alike: (spoiled_sums, spoiled_steps),
}
SPOILS = [(made, corruption) for made, concerns in CONCERNS.items() for one in concerns for corruption in one.SPOILED]


@pytest.mark.parametrize("made", MADE)
def test_it_has_no_findings(made: Callable[[], Json]) -> None:
    assert [str(finding) for finding in check(as_plan(made()))] == []


@pytest.mark.parametrize(
    ("made", "corruption"), SPOILS, ids=lambda value: getattr(value, "name", None) or value.__name__
)
def test_it_is_found_out_when_spoiled(made: Callable[[], Json], corruption: Corruption) -> None:
    try:
        spoiled = corruption.of(made())
    except NoVictim:
        pytest.skip("no victim")
    assert said(spoiled) & corruption.rules


def test_a_half_turn_needs_slats_that_look_alike_from_both_ends() -> None:
    values = half_turned()
    for slat in values["tile"]["slats"][:3]:
        slat["v"][0] += 1.5  # three slats narrower at one side
    assert "half-turn" in said(values)


def test_a_half_turn_needs_the_hardware_of_the_other_end() -> None:
    values = half_turned()
    values["sources"][0]["screws_out"] = [f"{name[0]}.3{name[3]}" for name in values["sources"][0]["screws_out"]]
    assert "screw-state" in said(values)


def test_a_quarter_turn_goes_anticlockwise() -> None:
    """Clockwise, the piece would lie with its cut end at the neighbour."""
    values = quarter_turned()
    piece = values["pieces"][0]
    piece["outline"] = [[600 - u, 600 - v] for u, v in piece["outline"]]
    assert said(values) & {"coverage", "wall-gap"}


@pytest.mark.parametrize("count", [1, 2, 4])
def test_copies_are_cut_as_often_as_they_are_laid(count: int) -> None:
    values = three_alike()
    values["sources"][0]["uses"] = count
    assert "demand" in said(values)


def test_minutes_are_those_of_all_copies() -> None:
    values = three_alike()
    values["steps"][4]["minutes"] /= 3
    assert "minutes" in said(values)
