"""Real plans that have what the demo may lack: shared slats, foreign wood, stone, copies, turned cells, inches."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cutopt.checks import check
from cutopt.planfile import Plan
from tests.checks.corruptions import CORRUPTIONS
from tests.checks.small_plan import Json, as_plan, as_values
from tests.checks.small_sites import ROOMS, small_site
from tests.plans import plan_named

KNOWN = {corruption.name: corruption for corruption in CORRUPTIONS}


def plan_at(site: str) -> Plan:
    return small_site(site) if site in ROOMS else plan_named(site)


def values_of(site: str) -> Json:
    return as_values(plan_at(site))


def shared(plan: Plan) -> int:
    return sum(slat.state == "shared" for source in plan.sources for slat in source.slats)


def half_turns(plan: Plan) -> int:
    return sum(placement.half_turn for source in plan.sources for placement in source.placements)


def foreign(plan: Plan) -> int:
    origins = [(source.id, backer.from_) for source in plan.sources for backer in source.backers]
    return sum(wood is not None and wood.source != source for source, wood in origins)


def quarter_turns(plan: Plan) -> int:
    return sum(cell.quarter_turn for area in plan.areas for cell in area.cells)


def copies(plan: Plan) -> int:
    return sum(source.uses > 1 for source in plan.sources)


def stone(plan: Plan) -> float:
    return plan.totals.stone_area


def bought_backers(plan: Plan) -> int:
    return plan.totals.spare_backers


# a site, what it has, and what is spoiled of that
SPOILS: list[tuple[str, Callable[[Plan], float], tuple[str, ...]]] = [
    (
        "shared",
        shared,
        (
            "shared_slat_1_mm_wider",
            "shared_slat_called_kept",
            "screw_of_a_shared_slat_left_in",
            "shared_slat_elsewhere",
            "shared_slat_ripped_while_it_is_screwed",
            "shared_slats_laid_back_after_they_are_screwed",
        ),
    ),
    ("strips", half_turns, ("piece_half_turned", "placements_of_two_sources_swapped")),
    (
        "strips",
        foreign,
        (
            "wood_of_another_source_still_screwed",
            "wood_of_a_strange_source",
            "wood_of_another_source_called_kept",
            "wood_of_another_source_taken_twice_as_often",
            "wood_of_another_source_hung_first",
        ),
    ),
    ("own-tile", quarter_turns, ("cut_cell_turned",)),
    ("inches", quarter_turns, ("whole_tile_turned", "sum_of_other_numbers", "fence_1_mm_off")),
    ("copies", copies, ("source_used_twice", "step_done_in_no_time", "total_changed_pieces", "minutes_too_few")),
    ("clockwise", stone, ("total_changed_stone_area",)),
    ("clockwise", bought_backers, ("total_changed_spare_backers", "bought_backer_too_long")),
]
CASES = [(site, has, name) for site, has, names in SPOILS for name in names]


@pytest.mark.parametrize(("site", "has", "name"), CASES, ids=lambda value: getattr(value, "__name__", str(value)))
def test_it_is_found_out_when_spoiled(site: str, has: Callable[[Plan], float], name: str) -> None:
    assert has(plan_at(site)) > 0
    spoiled = KNOWN[name].of(values_of(site))
    rules = {finding.rule for finding in check(as_plan(spoiled))}
    assert rules & KNOWN[name].rules, rules
