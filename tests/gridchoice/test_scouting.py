"""A scout sent ahead changes nothing but the time: its errand is done again where a better grid was found meanwhile."""

from __future__ import annotations

import math
import subprocess
import sys
from collections.abc import Callable
from unittest import mock

import pytest

from cutopt import plan
from cutopt.aside import Begun, processes
from cutopt.fit import Carpenter
from cutopt.gridchoice import scouting
from cutopt.gridchoice.grids import Grid
from cutopt.gridchoice.scouting import Brought, Scout
from cutopt.job.records import Job
from cutopt.planfile import dump
from tests.jobs import TOP, area_text, carpenter_of, job_of, post_text, room

RING = ((0, 0), (96_000, 0), (96_000, 64_000), (0, 64_000))


class Aside(Begun[Brought]):
    """Work that is done at once."""

    def __init__(self, work: Callable[[], Brought]) -> None:
        self._brought = work()

    def result(self) -> Brought:
        return self._brought

    def stop(self) -> None:
        pass


def jobs() -> list[Job]:
    """With posts, several areas, other aims and strategies, and slats and phase left open."""
    skew = area_text([(0.0, 0.0), (2350, 40), (2290, 1870), (-30, 1800)], more=post_text(1200, 900, 120))
    annex = area_text([(0.0, 0.0), (1910, 0), (1910, 1330), (0, 1330)], name="Annex")
    head = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = "best"\n'
    return [
        job_of(head + skew),
        job_of(head + skew + annex),
        job_of(head + '[cut]\naim = "minutes"\nstrategy = "anywhere"\nseconds = 3\n' + annex),
        room(1950, 1310, grid='"best"', lay='pattern = "alternate"\nslats = "either"\nphase = "any"'),
    ]


def told() -> None:
    """How many scouts were sent, then the plan of each job."""
    with mock.patch.object(scouting, "Begun", wraps=Begun) as begun:
        plans = [dump(plan(job)) for job in jobs()]
    sys.stdout.write("\n".join([str(begun.call_count), *plans]))


@pytest.mark.skipif(sys.platform != "linux" or processes() < 2, reason="no process can be beside another")
def test_the_plan_is_the_same_on_one_processor_and_on_several() -> None:
    alone = "import os; os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:1])"
    order = "from tests.gridchoice.test_scouting import told; told()"
    (few, *one), (many, *several) = (
        subprocess.run(
            [sys.executable, "-c", text], cwd=TOP, capture_output=True, text=True, check=True
        ).stdout.splitlines()
        for text in (f"{alone}; {order}", order)
    )
    assert few == "0"
    assert int(many) > 4
    assert one == several


def errand(carpenter: Carpenter) -> Callable[[], Grid | None]:
    def work() -> None:
        carpenter.fit(RING)

    return work


def out(carpenter: Carpenter, monkeypatch: pytest.MonkeyPatch) -> Scout:
    """A scout sent to "there" by a limit of 7."""
    monkeypatch.setattr(scouting, "Begun", Aside)
    scout = Scout(carpenter=carpenter)
    copy = carpenter_of(room(1820, 1216))
    scout.carpenter = copy  # what is learnt aside is not known here
    scout.send("there", 7.0, errand(copy))
    scout.carpenter = carpenter
    return scout


def test_what_was_asked_counts_as_if_it_had_been_asked_here(monkeypatch: pytest.MonkeyPatch) -> None:
    carpenter = carpenter_of(room(1820, 1216))
    brought = out(carpenter, monkeypatch).back("there", 7.0)
    assert brought is not None
    assert brought.grid is None
    assert carpenter.asked == 1


@pytest.mark.parametrize(
    ("where", "limit", "learnt"), [("there", 6.0, 1), ("elsewhere", 7.0, 0), ("there", math.inf, 1)]
)
def test_by_another_limit_only_answers_are_of_use(
    where: str, limit: float, learnt: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    carpenter = carpenter_of(room(1820, 1216))
    scout = out(carpenter, monkeypatch)
    assert scout.back(where, limit) is None
    assert carpenter.asked == 0
    assert len(carpenter.learnt().seen) == learnt
    assert scout.back("there", 7.0) is None
