"""Where the wood of every backer comes from: each stretch is used once, and only once it is free."""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from cutopt.planfile import Plan
from cutopt.planfile.model import Source, Step
from tests.plans import SITES, plan_named


def stretches(plan: Plan) -> dict[tuple[str, int], list[tuple[float, float, int]]]:
    """By source and backer: the intervals that pieces take of it, with how many tiles take it at a time."""
    found: dict[tuple[str, int], list[tuple[float, float, int]]] = {}
    for source in plan.sources:
        for backer in source.backers:
            if backer.from_ is not None:
                key = (backer.from_.source, backer.from_.backer)
                found.setdefault(key, []).append((*backer.from_.span, source.uses))
    return found


@pytest.mark.parametrize("site", SITES)
def test_wood_is_used_once(site: str) -> None:
    plan = plan_named(site)
    uses = {source.id: source.uses for source in plan.sources}
    taken = stretches(plan)
    assert taken
    for (source, backer), spans in taken.items():
        for one, other in combinations(sorted(spans), 2):
            if one[1] > other[0] + 1e-6:  # they overlap: only as many as there are tiles alike
                assert one[2] + other[2] <= uses[source], (source, backer, one, other)
        board = next(b for b in plan.tile.backers if b.id == backer)
        assert all(board.v[0] - 1e-6 <= low < high <= board.v[1] + 1e-6 for low, high, _ in spans)


@pytest.mark.parametrize("site", SITES)
def test_a_backer_is_as_long_as_its_wood(site: str) -> None:
    for source in plan_named(site).sources:
        for backer in source.backers:
            (_, low), (_, high) = backer.line
            assert high > low
            if backer.from_ is not None:
                a, b = backer.from_.span
                # along its line, which leans where it is hung along an oblique cut: a tick more at most
                assert b - a == pytest.approx(math.dist(*backer.line), abs=0.01)


@pytest.mark.parametrize("site", SITES)
def test_a_backer_is_no_wider_than_its_wood(site: str) -> None:
    plan = plan_named(site)
    widths = {backer.id: backer.width for backer in plan.tile.backers}
    for source in plan.sources:
        for backer in source.backers:
            most = max(widths.values()) if backer.from_ is None else widths[backer.from_.backer]
            assert 40 <= backer.width <= most
            if backer.state in ("kept", "cut"):
                assert backer.width == most


def freed(plan: Plan, source: str, backer: int, span: tuple[float, float]) -> list[Step]:
    """The steps without which that stretch of wood is not free: its screws out, and the cuts of the source if the
    backer is sawn through there."""
    tile = plan.tile
    board = next(b for b in tile.backers if b.id == backer)
    wanted = []
    for step in plan.steps:
        if step.source != source:
            continue
        unscrews = step.do == "unscrew" and any(
            screw.split(".")[1].rstrip("abc") == str(backer) for screw in step.screws
        )
        sawn = step.do == "cut" and span != tuple(board.v)
        if unscrews or sawn:
            wanted.append(step)
    return wanted


@pytest.mark.parametrize("site", SITES)
def test_wood_of_another_tile_is_hung_only_after_it_is_free(site: str) -> None:
    plan = plan_named(site)
    for source, step, backer in foreign_hangs(plan):
        assert backer.from_ is not None
        before = freed(plan, backer.from_.source, backer.from_.backer, backer.from_.span)
        assert before, f"nothing frees {backer.id}"
        assert all(other.n < step.n for other in before), f"{source.id} hangs {backer.id} before it is free"


def foreign_hangs(plan: Plan):  # type: ignore[no-untyped-def]
    """Each backer from another source's wood, with the source that it is hung in and the step that hangs it."""
    for source in plan.sources:
        for backer in source.backers:
            if backer.from_ is None or backer.from_.source == source.id:
                continue
            (step,) = hanging(plan, source, backer.id)
            yield source, step, backer


def hanging(plan: Plan, source: Source, backer: str) -> list[Step]:
    return [s for s in plan.steps if s.source == source.id and s.do == "re-hang" and s.backer == backer]


def test_some_site_takes_wood_from_another_tile() -> None:
    """Or the tests above would hold for want of cases."""
    assert sum(len(list(foreign_hangs(plan_named(site)))) for site in SITES) > 0


@pytest.mark.parametrize("site", SITES)
def test_every_moved_backer_is_hung_in_one_step(site: str) -> None:
    plan = plan_named(site)
    for source in plan.sources:
        for backer in source.backers:
            assert len(hanging(plan, source, backer.id)) == (backer.state in ("moved", "added"))


@pytest.mark.parametrize("site", SITES)
def test_no_more_spare_backers_than_the_rule_allows(site: str) -> None:
    plan = plan_named(site)
    bought = sum(source.uses * sum(b.from_ is None for b in source.backers) for source in plan.sources)
    assert bought == plan.totals.spare_backers <= plan.rules["spare_backers"]
