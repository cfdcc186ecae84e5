"""What money and weight rest on is said with their numbers, and no verdict is given."""

from __future__ import annotations

from typing import Any

import pytest

from cutopt.book.words.restson import LB_PER_FT2, money_lines, weight_line
from cutopt.planfile import Plan
from tests.book.sample import sample_json, sample_plan


def plan_with(show: str = "mm", **totals: Any) -> Plan:
    made = sample_json(show=show)
    made["totals"].update(totals)
    return Plan.model_validate(made)


def test_the_parts_of_the_cost() -> None:
    # the sample, twice: 20 tiles, 210 minutes, 2 bought backers: 20 x 74 + 3.5 x 48 + 2 x 6.5 = 1661
    lines = money_lines(plan_with(prices={"tile": 74.0, "hour": 48.0, "backer": 6.5}, cost=1661.0))
    assert lines[:3] == (
        "20 tiles at 74.00 EUR: 1,480.00 EUR",
        "3 h 30 min of one person at 48.00 EUR an hour: 168.00 EUR",
        "2 bought backers at 6.50 EUR: 13.00 EUR",
    )
    assert any("breakage" in line for line in lines)
    assert any("no source" in line for line in lines)


def test_what_is_free_is_no_part() -> None:
    lines = money_lines(plan_with(prices={"tile": 74.0, "hour": 0.0, "backer": 0.0}, cost=1480.0))
    assert [line for line in lines if ": " in line and "EUR" in line] == ["20 tiles at 74.00 EUR: 1,480.00 EUR"]
    assert money_lines(sample_plan()) == ()  # an older plan
    assert money_lines(plan_with(prices={"tile": 0.0, "hour": 0.0, "backer": 0.0}, cost=0.0)) == ()


@pytest.mark.parametrize(("show", "words"), [("mm", "16.3 kg/m²"), ("in", "3.3 lb/ft² (16.3 kg/m²)")])
def test_the_weight_with_its_caution(show: str, words: str) -> None:
    line = weight_line(plan_with(show, weight_per_m2=16.3))
    assert words in line
    assert "engineer" in line
    assert weight_line(sample_plan()) == ""


def test_pounds_a_square_foot() -> None:
    # 1 lb/ft2 = 4.882428 kg/m2 (NIST SP 811, App. B.8, as quoted)
    assert pytest.approx(4.882428) == 1 / LB_PER_FT2
