"""The rules: every one is documented, in its range, and can be overridden."""

from __future__ import annotations

import math
import tomllib
from dataclasses import fields

import pytest

from cutopt.errors import BadInput
from cutopt.rules import Rules, as_plan_values, load_rules, rule_lines
from cutopt.shipped import shared_text


def test_every_rule_is_documented_and_nothing_else() -> None:
    names = [field.name for field in fields(Rules)]
    tables = tomllib.loads(shared_text("rules.toml"))
    assert list(tables) == names
    assert [line.name for line in rule_lines()] == names
    for name, table in tables.items():
        assert set(table) == {"default", "unit", "text", "source"}, name
        assert table["text"].endswith("."), name
        assert table["source"], name


def test_published_defaults() -> None:
    rules, sources = load_rules(), {line.name: line.source for line in rule_lines()}
    # NDS Commentary Table C12.1.5.7, prebored: edge 2.5 D, end 5 D, in a row 5 D across the grain
    assert (rules.screw_edge, rules.screw_end, rules.screw_row) == (2.5, 5.0, 5.0)
    assert all("C12.1.5.7" in sources[name] for name in ("screw_edge", "screw_end", "screw_row"))
    assert "2014/32/EU" in sources["tape_fixed"]
    assert "2014/32/EU" in sources["tape_per_metre"]


# Directive 2014/32/EU, Annex X, Table 1, class II: a + b L with L rounded up to whole metres
@pytest.mark.parametrize(("metres", "millimetres"), [(5, 1.3), (10, 2.3)])
def test_a_class_two_tape(metres: int, millimetres: float) -> None:
    rules = load_rules()
    assert rules.tape_fixed + rules.tape_per_metre * metres == millimetres * 320


def test_defaults_in_ticks() -> None:
    rules = load_rules()
    assert rules.wall_gap == (6 * 320, 12 * 320)
    assert rules.screw_clearance == 10 * 320
    assert rules.joint_bias == 160
    assert rules.spare_backers == 20
    assert isinstance(rules.spare_backers, int)


def test_overrides() -> None:
    changed = {"wall_gap": ["1/4 in", "1/2 in"], "post_gap": [0, 0.5], "hole_wood": 0.5, "guide_holes": 12.0}
    rules = load_rules(changed, unit="in")
    assert rules.wall_gap == (2032, 4064)
    assert rules.post_gap == (0, 4064)
    assert rules.hole_wood == 4064
    assert rules.guide_holes == 12
    assert rules.flush_gap == load_rules().flush_gap


def test_lines_in_both_units() -> None:
    metric, inches = ({line.name: line for line in rule_lines(show)} for show in ("mm", "in"))
    assert (metric["wall_gap"].value, metric["wall_gap"].unit) == ("6 to 12", "mm")
    # 6 / 25.4 = 0.2362, 12 / 25.4 = 0.4724
    assert (inches["wall_gap"].value, inches["wall_gap"].unit) == ("0.236 to 0.472", "in")
    assert (metric["tape_per_metre"].value, metric["keep_offcut"].unit) == ("0.2", "square metres")
    assert (metric["spare_backers"].value, metric["spare_backers"].unit) == ("20", "")


def test_values_for_the_plan_file() -> None:
    values = as_plan_values(load_rules({"screw_clearance": "11 mm"}))
    assert list(values) == [field.name for field in fields(Rules)]
    assert values["wall_gap"] == [6.0, 12.0]
    assert values["screw_clearance"] == 11.0
    assert values["screw_edge"] == 2.5
    assert values["guide_holes"] == 11


@pytest.mark.parametrize(
    ("name", "value", "rule"),
    [
        ("wall_gpa", 3, "is not a rule"),
        ("wall_gap", 6, "two lengths"),
        ("wall_gap", [6], "two lengths"),
        ("wall_gap", [12, 6], "least does not exceed"),
        ("wall_gap", [-1, 6], "not negative"),
        ("hole_wood", "10 kg", "'kg' is not a unit"),
        ("hole_wood", True, "a number, or text"),
        ("screw_edge", "2.5", "plain number"),
        ("screw_edge", -1, "not negative"),
        ("rate_mark", math.nan, "finite"),
        ("rate_mark", math.inf, "finite"),
        ("breakage_cut", 101, "from 0 to 100"),
        ("end_grain_angle", 91, "from 0 to 90"),
        ("spare_backers", 1.5, "whole number"),
        ("spare_backers", True, "whole number"),
        ("guide_holes", 0, "more than 0"),
        ("sealer_coverage", 0, "more than 0"),
        ("fragment_least", "40 mm", "does not exceed fragment_normal"),
    ],
)
def test_bad_overrides(name: str, value: object, rule: str) -> None:
    with pytest.raises(BadInput) as caught:
        load_rules({name: value}, file="job.toml")
    (mistake,) = caught.value.mistakes
    assert (mistake.file, mistake.key) == ("job.toml", f"rules.{name}")
    assert rule in mistake.rule
    assert mistake.remedy
