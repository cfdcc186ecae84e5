"""The check passes a good plan, and names the fault of each spoiled one."""

from __future__ import annotations

import pytest

from cutopt.checks import Finding, check
from tests.checks.corruptions import CORRUPTIONS
from tests.checks.small_plan import as_plan, small
from tests.checks.spoiling import Corruption, NoVictim


def test_a_good_plan_has_no_findings() -> None:
    assert check(as_plan(small())) == ()


@pytest.mark.parametrize("corruption", CORRUPTIONS, ids=lambda corruption: corruption.name)
def test_a_spoiled_plan_is_found_out(corruption: Corruption) -> None:
    try:
        spoiled = corruption.of(small())
    except NoVictim:
        pytest.skip("the small plan has no victim")
    findings = check(as_plan(spoiled))
    assert {finding.rule for finding in findings} & corruption.rules, findings


def test_the_small_plan_has_victims_for_most() -> None:
    spoiled = 0
    for corruption in CORRUPTIONS:
        try:
            corruption.of(small())
        except NoVictim:
            continue
        spoiled += 1
    assert spoiled >= 45


def test_findings_are_numbered_from_one() -> None:
    values = small()
    values["totals"]["tiles"] += 1
    values["buy"][0]["count"] = 3
    findings = check(as_plan(values))
    assert [finding.number for finding in findings] == [1, 2]
    assert findings[0] == Finding(number=1, rule="totals", where="totals.tiles", text="is 3; counted 2")
    assert str(findings[0]) == "1. totals.tiles: is 3; counted 2 [totals]"
