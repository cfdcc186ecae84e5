"""The real plan of the demo passes the check, and each way to spoil it is found out by the right rule."""

from __future__ import annotations

from typing import Any

import pytest

from cutopt.checks import check
from cutopt.planfile import Plan
from tests.checks.corruptions import CORRUPTIONS
from tests.checks.small_plan import Json, as_plan
from tests.checks.spoiling import Corruption, NoVictim
from tests.plans import plan_named


@pytest.fixture(scope="session")
def demo() -> Plan:
    return plan_named("demo")


@pytest.fixture(scope="session")
def values(demo: Plan) -> Json:
    found: dict[str, Any] = demo.model_dump(mode="json", by_alias=True)
    return found


def test_the_demo_has_no_findings(demo: Plan) -> None:
    assert [str(finding) for finding in check(demo)] == []


@pytest.mark.parametrize("corruption", CORRUPTIONS, ids=lambda corruption: corruption.name)
def test_a_spoiled_demo_is_found_out(values: Json, corruption: Corruption) -> None:
    try:
        spoiled = corruption.of(values)
    except NoVictim:
        pytest.skip("the demo has no victim")
    findings = check(as_plan(spoiled))
    assert {finding.rule for finding in findings} & corruption.rules, findings


def test_the_demo_has_victims_for_most(values: Json) -> None:
    spoiled = 0
    for corruption in CORRUPTIONS:
        try:
            corruption.of(values)
        except NoVictim:
            continue
        spoiled += 1
    assert spoiled >= 110
    assert len({corruption.name for corruption in CORRUPTIONS}) == len(CORRUPTIONS)


def test_no_support_of_the_demo_is_idle(values: Json) -> None:
    """Without any one of them, the piece or tile above it is found to miss it."""
    for number in range(0, len(values["supports"]), 7):
        without = {**values, "supports": [s for i, s in enumerate(values["supports"]) if i != number]}
        rules = {finding.rule for finding in check(as_plan(without))}
        assert rules & {"pins", "standing", "face-past-bearing"}, values["supports"][number]["at"]
