"""Plans of the planner's own pass the check, and each way to spoil one is found out by the right rule."""

from __future__ import annotations

from functools import cache

import pytest

from cutopt.checks import check
from cutopt.planfile import Plan
from tests.checks.corruptions import CORRUPTIONS
from tests.checks.small_plan import Json, as_plan, as_values
from tests.checks.small_sites import ROOMS, small_site, values_at
from tests.checks.spoiling import Corruption, NoVictim
from tests.plans import SITES, plan_named

# the quickest to check first; the demo last, for what no small room has
AT = ("shared", "strips", "notched", "crossing", "copies", "inches", "clockwise", "demo")


@pytest.fixture(scope="session")
def demo() -> Plan:
    return plan_named("demo")


@cache
def _values(site: str) -> Json:
    return values_at(site) if site in ROOMS else as_values(plan_named(site))


def spoiled(corruption: Corruption) -> Json:
    """The first plan that has what the corruption spoils, spoiled."""
    for site in AT:
        try:
            return corruption.of(_values(site))
        except NoVictim:
            continue
    raise NoVictim


def test_the_demo_has_no_findings(demo: Plan) -> None:
    assert [str(finding) for finding in check(demo)] == []


@pytest.mark.parametrize("corruption", CORRUPTIONS, ids=lambda corruption: corruption.name)
def test_a_spoiled_plan_is_found_out(corruption: Corruption) -> None:
    findings = check(as_plan(spoiled(corruption)))
    assert {finding.rule for finding in findings} & corruption.rules, findings


def test_each_corruption_has_a_name_of_its_own() -> None:
    assert len({corruption.name for corruption in CORRUPTIONS}) == len(CORRUPTIONS)


def test_small_rooms_and_sites_are_named_apart() -> None:
    assert not set(ROOMS) & set(SITES)
    assert all(small_site(name).sources for name in ROOMS)


def test_no_support_of_the_demo_is_idle(demo: Plan) -> None:
    """Without any one of them, the piece or tile above it is found to miss it."""
    for number in range(0, len(demo.supports), 11):
        without = demo.model_copy(update={"supports": demo.supports[:number] + demo.supports[number + 1 :]})
        rules = {finding.rule for finding in check(without)}
        assert rules & {"pins", "standing", "face-past-bearing"}, demo.supports[number].at
