"""Choices planned at once: the same as one after the other, and kept when they are stopped."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from functools import cache

import pytest

from cutopt.comparing.choices import Limits, menu
from cutopt.comparing.records import figures_of
from cutopt.comparing.running import Ended, Task, plan_task, run
from cutopt.job.records import Job
from cutopt.planfile import Plan, dump
from cutopt.planning import plan
from tests.jobs import room

QUICK = Limits(
    strategies=("one-for-one", "factory-edge"), patterns=("straight", "alternate"), grids=("full-first", "centred")
)


def small() -> Job:
    return room(2000, 1500, grid='"best"')


def tasks_of(job: Job, limits: Limits = QUICK, keep: str = "") -> list[Task]:
    return [
        Task(job=job, choice=choice, seconds=2.0, seed=7, keep=choice.name == keep)
        for choice in menu(job, limits).choices
    ]


@cache
def in_turn() -> tuple[Ended, ...]:
    """The small job's choices planned one after the other."""
    return run(tasks_of(small()), at_once=1).ended


def stopping_after(most: int) -> Callable[[int, Ended], None]:
    """As if Ctrl-C were pressed when so many are done."""

    def report(done: int, _: Ended) -> None:
        if done >= most:
            raise KeyboardInterrupt

    return report


def test_at_once_is_as_in_turn() -> None:
    tasks = tasks_of(small(), keep="factory-edge/alternate/centred")
    seen: list[int] = []
    found = run(tasks, at_once=2, report=lambda done, _: seen.append(done))
    assert [ended.outcome for ended in found.ended] == [ended.outcome for ended in in_turn()]
    assert seen == list(range(1, len(tasks) + 1))
    assert {ended.outcome.state for ended in found.ended} == {"planned"}
    assert not found.interrupted
    (kept,) = [ended.plan for ended in found.ended if ended.plan is not None]
    task = next(task for task in tasks if task.keep)
    # it went from one process to another and is still the plan of that choice, byte for byte
    assert dump(kept) == dump(plan(task.choice.applied(task.job), seconds=2.0, seed=7))


def test_figures_are_the_plans() -> None:
    job = small()
    for task, ended in zip(tasks_of(job)[:2], in_turn(), strict=False):
        made = plan(task.choice.applied(job), seconds=2.0, seed=7)
        found = ended.outcome.figures
        assert found == figures_of(made)
        assert found is not None
        assert (found.tiles, found.cost, found.minutes) == (made.totals.tiles, made.totals.cost, made.totals.minutes)
        kept = [o.outline for source in made.sources for o in source.offcuts if o.keep for _ in range(source.uses)]
        assert found.offcuts_kept == len(kept)


def test_open_ground_is_counted_over_all_areas_alike() -> None:
    # the open side: only whole tiles lie along it, so 1500 - 6 - 2 x 604 + 4 = 290 mm stay open behind them
    job = room(1820, 1500, ("wall", "wall", "open", "wall"), more="count = 3\n")
    made = plan(job, seconds=2.0)
    found = figures_of(made)
    assert found.open_parts == 3 * sum(len(cell.left) for cell in made.areas[0].cells) > 0
    assert found.open_area == pytest.approx(3 * 290 * 1812, rel=0.05)


@pytest.mark.parametrize("at_once", [1, 2])
def test_ctrl_c_keeps_what_is_done(at_once: int) -> None:
    tasks = tasks_of(small())
    before = set(multiprocessing.active_children())
    found = run(tasks, at_once=at_once, report=stopping_after(2))
    assert found.interrupted
    done = [ended for ended in found.ended if ended.outcome.state == "planned"]
    assert len(done) == 2
    assert all(ended in in_turn() for ended in done)
    left = [ended.outcome for ended in found.ended if ended.outcome.state != "planned"]
    assert {outcome.state for outcome in left} == {"not finished"}
    assert [ended.outcome.choice for ended in found.ended] == [task.choice for task in tasks]
    assert set(multiprocessing.active_children()) <= before  # none goes on behind our back


def test_a_choice_without_a_plan_does_not_stop_the_others() -> None:
    # tiles from a corner at 65 mm in a square of 140 mm leave strips of less than 75 mm on both sides
    job = room(140, 140, grid='{x = "65 mm", y = "65 mm"}')
    found = run(tasks_of(job, Limits(strategies=("one-for-one",), patterns=("straight",))), at_once=1)
    states = {ended.outcome.choice.grid: ended.outcome.state for ended in found.ended}
    assert states["as-given"] == "no plan"
    assert states["full-first"] == "planned"
    (reason,) = {ended.outcome.reason for ended in found.ended if ended.outcome.choice.grid == "as-given"}
    assert "rule thinnest_strip" in reason


def test_a_fault_of_one_choice_does_not_stop_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    def faulty(job: Job, *, seconds: float | None, seed: int) -> Plan:
        if job.laying.grid == "centred":
            raise RuntimeError("two pieces overlap")
        return plan(job, seconds=seconds, seed=seed)

    monkeypatch.setattr("cutopt.planning.plan", faulty)
    found = run(tasks_of(small(), Limits(strategies=("one-for-one",), patterns=("straight",))), at_once=1)
    states = [(ended.outcome.choice.grid, ended.outcome.state) for ended in found.ended]
    assert states == [("best", "planned"), ("full-first", "planned"), ("centred", "fault")]
    assert found.ended[2].outcome.reason.startswith("RuntimeError: two pieces overlap in test_running.py, line ")


def test_a_process_that_dies_is_told_of(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cutopt.comparing.running.plan_task", dying)
    found = run(tasks_of(small())[:2], at_once=2)
    assert [ended.outcome.state for ended in found.ended] == ["fault", "fault"]
    assert "ended from outside" in found.ended[0].outcome.reason
    assert not found.interrupted


def dying(task: Task) -> Ended:
    import os

    os._exit(9)


def test_nothing_to_do() -> None:
    assert run([], at_once=4).ended == ()


def test_a_plan_is_kept_only_where_it_is_wanted() -> None:
    (task, *_) = tasks_of(small(), keep="one-for-one/straight/full-first")
    assert plan_task(task).plan is not None
    assert in_turn()[0].plan is None
