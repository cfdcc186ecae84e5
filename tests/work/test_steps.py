"""The steps: an order that a person can follow, sums that add up, every piece made as often as it is wanted."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from cutopt.lengths import parse_length
from cutopt.planfile.model import Step
from tests.plans import SITES, plan_named


@pytest.mark.parametrize("site", SITES)
def test_steps_are_numbered_and_wait_only_for_earlier_ones(site: str) -> None:
    steps = plan_named(site).steps
    assert [step.n for step in steps] == list(range(1, len(steps) + 1))
    assert all(before < step.n for step in steps for before in step.after)


@pytest.mark.parametrize("site", SITES)
def test_screws_come_out_before_the_first_cut_or_after_the_last(site: str) -> None:
    """Screws in the way come out before any cut, those of wood that leaves after all: nothing loose is sawn."""
    plan = plan_named(site)
    for source in plan.sources:
        own = [step for step in plan.steps if step.source == source.id]
        out = [screw for step in own if step.do == "unscrew" for screw in step.screws]
        assert sorted(out) == sorted(source.screws_out)
        cuts = [step.n for step in own if step.cut is not None and step.do == "cut"]  # boards alone are off the tile
        assert not any(min(cuts) < step.n < max(cuts) for step in own if step.do == "unscrew")


@pytest.mark.parametrize("site", SITES)
def test_every_cut_is_made_once_and_in_order(site: str) -> None:
    plan = plan_named(site)
    for source in plan.sources:
        made = [step.cut for step in plan.steps if step.source == source.id and step.do == "cut"]
        # a slat that is ripped alone is no cut of the tile's; a long notch is begun with one saw, finished with another
        assert list(dict.fromkeys(n for n in made if n is not None)) == [cut.n for cut in source.cuts]


@pytest.mark.parametrize("site", SITES)
def test_drilled_and_sealed_after_the_cuts(site: str) -> None:
    plan = plan_named(site)
    for source in plan.sources:
        own = [step for step in plan.steps if step.source == source.id]
        last = max(step.n for step in own if step.do == "cut" and step.cut is not None)
        assert all(step.n > last for step in own if step.do in ("seal", "label", "rack"))
        drilled = [hole for step in own if step.do == "drill" and step.cut is None for hole in step.holes]
        wanted = [(hole.u, hole.v) for hole in source.pin_holes if hole.state == "drilled"]
        assert sorted(drilled) == sorted(wanted)
        sealed = {piece for step in own if step.do == "seal" for piece in step.pieces}
        assert sealed == {end.piece for end in source.sealed}


@pytest.mark.parametrize("site", SITES)
def test_each_piece_is_labelled_once_a_tile(site: str) -> None:
    plan = plan_named(site)
    labels = Counter(piece for step in plan.steps if step.do == "label" for piece in step.pieces)
    placed = Counter(placement.piece for source in plan.sources for placement in source.placements)
    assert labels == placed


def fence_steps(steps: tuple[Step, ...]) -> list[Step]:
    return [step for step in steps if step.setup is not None]


@pytest.mark.parametrize("site", SITES)
def test_sums_add_up(site: str) -> None:
    """ "112 + 3.2 + 484.8 = 600": fence, kerf and rest are the part that lies on the saw."""
    plan = plan_named(site)
    found = fence_steps(plan.steps)
    assert found or site == "balconies"  # no table saw there
    for step in found:
        left, right = step.sum.split(" = ")
        # printed to 0.1 mm or 1/64 in each: three roundings and that of the total
        one = 32 if plan.job.show == "mm" else 127
        terms = [parse_length(term, unit=plan.job.show) for term in left.split(" + ")]
        assert len(terms) == 3
        assert abs(sum(terms) - parse_length(right, unit=plan.job.show)) <= 2 * one
        assert step.setup is not None
        assert abs(terms[0] - parse_length(step.setup.fence)) <= one / 2
        assert abs(terms[1] - parse_length(plan.kerf["table_saw"])) <= one / 2


@pytest.mark.parametrize("site", SITES)
def test_a_fence_is_set_from_a_side_of_the_tile_within_the_saws_reach(site: str) -> None:
    plan = plan_named(site)
    reach = plan.rules["widest_rip"]
    for step in fence_steps(plan.steps):
        assert step.setup is not None
        assert 0 < step.setup.fence <= reach
        assert step.station == "table saw"
        if step.cut is None:
            continue  # a board alone
        (cut,) = [c for s in plan.sources if s.id == step.source for c in s.cuts if c.n == step.cut]
        axis = 0 if step.setup.datum[0] == "u" else 1
        (at,) = {point[axis] for point in cut.path}  # square to the side
        size = (plan.tile.length, plan.tile.width)[axis]
        distance = at if step.setup.datum[1] == "0" else size - at
        # the kept side at the fence, or beyond the blade with the kerf between
        assert min(abs(step.setup.fence - distance), abs(step.setup.fence + cut.kerf - distance)) < 1e-6


@pytest.mark.parametrize("site", SITES)
def test_minutes_are_those_of_the_steps_and_of_laying(site: str) -> None:
    plan = plan_named(site)
    by_source: Counter[str] = Counter()
    for step in plan.steps:
        by_source[step.source] += step.minutes  # type: ignore[assignment]
    for source in plan.sources:
        assert source.minutes == pytest.approx(by_source[source.id], abs=0.01)
    stations = plan.totals.minutes_by_station
    rules = plan.rules
    laying = plan.totals.whole * rules["rate_lay_whole"] + plan.totals.pieces * rules["rate_lay_cut"]
    assert stations["laying"] == pytest.approx(laying, abs=0.06)
    assert plan.totals.minutes == pytest.approx(sum(stations.values()), abs=0.05 * len(stations))


@pytest.mark.parametrize("site", SITES)
def test_steps_say_face_and_name_only_what_they_handle(site: str) -> None:
    plan = plan_named(site)
    for step in plan.steps:
        assert step.text
        assert (step.face == "down") == bool(re.search(r"\bface down\b", step.text, re.IGNORECASE)) or step.do in (
            "seal",
            "label",
            "rack",
        )
        assert not re.search(r"\b[A-Z][a-z]*Error\b|None|\{|\}", step.text)


@pytest.mark.parametrize("site", SITES)
def test_tiles_are_bought_with_breakage(site: str) -> None:
    """2 % of whole tiles, 5 % of cut ones, at least 2, rounded up (common practice, no source)."""
    plan = plan_named(site)
    (tiles,) = [line for line in plan.buy if line.item == "tile"]
    spare = max(2, -(-(2 * plan.totals.whole + 5 * plan.totals.cut) // 100))
    assert plan.totals.tiles + 2 <= tiles.count
    assert abs(tiles.count - plan.totals.tiles - spare) <= 1  # each share may be rounded up by itself
