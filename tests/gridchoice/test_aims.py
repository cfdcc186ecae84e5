"""Grid starts are chosen by the job's aim, all work counted, and never to leave ground open."""

from __future__ import annotations

import pytest

from cutopt import check, plan
from cutopt.job.records import Aim
from cutopt.planfile import Plan
from tests.jobs import area_text, job_of

MONEY = '[money]\ncurrency = "EUR"\ntile = 20.0\nhour = 45.0\nbacker = 2.0\n'


def planned(aim: Aim, grid: str, corners: list[tuple[float, float]]) -> Plan:
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "{grid}"\n[cut]\naim = "{aim}"\nseconds = 3\n'
    return plan(job_of(head + MONEY + area_text(corners)))


def taken(made: Plan, aim: Aim) -> float:
    return made.totals.cost if aim == "cost" else made.totals.minutes


def open_parts(made: Plan) -> int:
    return sum(len(cell.left) for area in made.areas for cell in area.cells)


@pytest.mark.parametrize("aim", ["cost", "minutes"])
@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (1900, 0), (1900, 1540), (0, 1540)],
        [(0, 0), (2300, 0), (2255, 1560), (0, 1530)],
        [(0, 0), (1740, 0), (1740, 2050), (0, 2010)],
    ],
)
def test_best_is_never_worse_by_the_aim(corners: list[tuple[float, float]], aim: Aim) -> None:
    best = planned(aim, "best", corners)
    assert check(best) == ()
    assert open_parts(best) == 0
    for grid in ("full-first", "centred"):
        other = planned(aim, grid, corners)
        assert open_parts(other) or taken(best, aim) <= taken(other, aim)


@pytest.mark.parametrize("aim", ["cost", "minutes"])
def test_the_aim_decides_between_starts(aim: Aim) -> None:
    """Twelve tiles at two starts: the one that by tiles is first takes more work and so more money."""
    corners = [(0.0, 0.0), (1630.0, 0.0), (1659.0, 2080.0), (0.0, 2116.0)]
    by_tiles, by_aim = planned("tiles", "best", corners), planned(aim, "best", corners)
    assert open_parts(by_tiles) == open_parts(by_aim) == 0
    assert taken(by_aim, aim) < taken(by_tiles, aim)
    assert by_aim.proof.scope == "this grid"
