"""Plans with absurd numbers get findings, quickly, and nothing else happens to them."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from cutopt.checks import check
from tests.checks.small_plan import Json, as_plan, said, small
from tests.checks.worked_splits import dropped


@pytest.mark.parametrize("name", ["wall_gap", "post_gap", "flush_gap"])
@pytest.mark.parametrize("value", [6, "6", [6], [6, 12, 18], [12, 6], [-1, 6], [True, 6], [None, 6], None])
def test_a_gap_is_a_least_and_a_most(name: str, value: object) -> None:
    values = small()
    values["rules"][name] = value
    assert "rules" in said(values)


def test_a_rule_of_very_many_digits_is_no_number_to_check_by() -> None:
    """Python turns whole numbers of more than some thousand digits into no text at all."""
    values = small()
    values["rules"]["screw_clearance"] = -(10**5000)
    values["rules"]["wall_gap"] = ["x" * 100_000, 6]
    texts = [finding.text for finding in check(as_plan(values)) if finding.rule == "rules"]
    assert len(texts) == 2
    assert max(map(len, texts)) < 200


@pytest.mark.parametrize("turn", [361, -1e6, 1e300])
def test_no_frame_is_turned_more_than_once_round(turn: float) -> None:
    values = small()
    values["areas"][0]["frame"]["turn"] = turn
    assert said(values) & {"frame", "size"}


def _edge_gap(values: Json) -> None:
    values["areas"][0]["edges"][0]["gap"] = [12, 6]


def _post_gap(values: Json) -> None:
    outline = [[700, 700], [720, 700], [720, 720], [700, 720]]
    values["areas"][0]["posts"] = [{"name": "p", "kind": "post", "round": False, "gap": [-3, 6], "outline": outline}]


@pytest.mark.parametrize("spoil", [_edge_gap, _post_gap])
def test_gaps_of_edges_and_posts_have_the_least_first(spoil: Callable[[Json], None]) -> None:
    values = small()
    spoil(values)
    assert "gap" in said(values)


def test_an_edge_too_few_beside_a_dropped_fragment_is_found_out() -> None:
    values = dropped()
    values["areas"][0]["edges"].pop()
    assert "outline" in said(values)


@pytest.mark.parametrize("pitch", [[1e-6, 1e-6], [0.5, 0.5], [0, 604], [-604, 604], [1e-300, 604], [5e-324, 604]])
def test_a_pitch_of_next_to_nothing_is_found_out_in_seconds(pitch: list[float]) -> None:
    values = small()
    values["areas"][0]["grid"]["pitch"] = pitch
    start = time.monotonic()
    assert said(values) & {"grid", "size"}
    assert time.monotonic() - start < 10


def test_many_missing_cells_are_named_up_to_a_hundred() -> None:
    """100,000 cells of the grid: a square of 200 m."""
    values = small()
    side = 200_000
    values["areas"][0]["outline"] = [[0, 0], [side, 0], [side, side], [0, side]]
    start = time.monotonic()
    findings = [finding for finding in check(as_plan(values)) if finding.rule == "missing-cell"]
    assert time.monotonic() - start < 20
    assert len(findings) == 101


def _far_corner(values: Json) -> None:
    values["areas"][0]["outline"][1][0] = 1e300


def _far_screw(values: Json) -> None:
    values["sources"][0]["screws"][0]["u"] = -1e18


def _no_mark(values: Json) -> None:
    values["job"]["mark"] = 0


def _thick_blade(values: Json) -> None:
    values["kerf"]["jigsaw"] = 1e308


def _wide_rule(values: Json) -> None:
    values["rules"]["dropped_gap"] = 1e300


def _long_number(values: Json) -> None:
    values["totals"]["tiles"] = 10**5000


def _long_rule(values: Json) -> None:
    values["rules"]["note"] = [{"of": 10**400}]


def _next_to_nothing(values: Json) -> None:
    values["pieces"][0]["outline"][1][0] = 5e-324


def _no_tile(values: Json) -> None:
    values["tile"]["length"] = 0


@pytest.mark.parametrize(
    "spoil",
    [
        *(_far_corner, _far_screw, _no_mark, _thick_blade, _wide_rule),
        *(_long_number, _long_rule, _next_to_nothing, _no_tile),
    ],
)
def test_a_number_beyond_all_measure_is_all_that_is_said(spoil: Callable[[Json], None]) -> None:
    values = small()
    spoil(values)
    assert said(values) == {"size"}
