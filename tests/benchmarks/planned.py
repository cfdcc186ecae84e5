"""A job planned and checked in a process of its own: the figures that the ladder and the roofs have in common."""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TypeVar

import cutopt
from cutopt.errors import CutoptError
from cutopt.job.records import Job
from cutopt.planfile import Plan
from tests.benchmarks.apart import in_turns, peak, worked


@dataclass(frozen=True, kw_only=True, slots=True)
class Figures:
    """A line of a file of results. `why`: why there is no plan, or empty; the figures are 0 then.

    `seconds` (on the wall), `processor` (its seconds and its copies', which other programs disturb less) and `memory`
    (MiB at the peak) are of planning, or of what else is measured; `check_seconds` are of the check alone, and `faults`
    what it found, in its words; `unchecked`: why it is not there, or empty. `whole`, `cut` and `bound` are tiles, the
    last two those that are cut; `considered` are grid starts; `open` counts parts of cells that stay open.
    """

    label: str
    name: str
    day: str
    why: str = ""
    seconds: float = 0.0
    processor: float = 0.0
    memory: int = 0
    whole: int = 0
    cut: int = 0
    bound: int = 0
    proven: bool = False
    stopped: str = ""
    considered: int = 0
    pieces: int = 0
    open: int = 0
    check_seconds: float = 0.0
    faults: tuple[str, ...] = ()
    unchecked: str = "not checked"

    @property
    def gap(self) -> float:
        """Of the tiles that are cut, the share by which the bound is missed."""
        return (self.cut - self.bound) / self.cut if self.cut else 0.0

    @property
    def found(self) -> str:
        """How many findings the check had, or that it was not finished."""
        return self.unchecked or str(len(self.faults))


F = TypeVar("F", bound=Figures)
T = TypeVar("T")


def today() -> str:
    return date.today().isoformat()


def planned(blank: F, job: Callable[[], Job], seed: int) -> tuple[F, Plan | None]:
    """The figures of a job's plan and the plan, in this process; no plan is a result too."""
    try:
        read = job()
        start, working = time.perf_counter(), worked()
        plan = cutopt.plan(read, seed=seed)
    except CutoptError as error:
        return replace(blank, why=f"{type(error).__name__}: {error}"), None
    seconds, totals = time.perf_counter() - start, plan.totals
    figures = replace(
        blank,
        seconds=round(seconds, 2),
        processor=round(worked() - working, 2),
        memory=peak(),
        whole=totals.whole,
        cut=totals.cut,
        bound=totals.lower_bound,
        proven=totals.proven,
        stopped=plan.proof.stopped,
        considered=plan.proof.grids.considered,
        pieces=totals.pieces,
        open=open_parts(plan),
    )
    return figures, plan


def checked(figures: F, plan: Plan) -> F:
    """The figures with what the checker found, in this process."""
    start = time.perf_counter()
    findings = cutopt.check(plan)
    seconds = round(time.perf_counter() - start, 2)
    return replace(figures, faults=tuple(map(str, findings)), check_seconds=seconds, unchecked="")


def open_parts(plan: Plan) -> int:
    """How many parts of cells stay open, for whatever reason."""
    return sum(len(cell.left) for area in plan.areas for cell in area.cells)


def measured(work: Callable[[T], Iterator[F]], task: T, blank: F, limits: Sequence[float]) -> F:
    """The last figures that `work` yields in a process of its own, each within its limit (seconds); the check is last.

    Where a limit ends it, the figures so far say that their check was not finished.
    """
    last, why = in_turns(work, task, limits)
    if last is None:
        return replace(blank, why=why)
    return replace(last, unchecked=f"check not finished: {why}") if why else last


def told(results: Sequence[Figures]) -> list[str]:
    """What failed and what the checker found, a line each."""
    good = [one for one in results if not one.why]
    failed = [f"No figures: {one.name}: {one.why}" for one in results if one.why]
    return [*failed, *(f"Finding: {one.name}: {fault}" for one in good for fault in one.faults)]


def heading(*what: str) -> str:
    """The first line of a printed run: the version, the day and on what the figures depend."""
    return ", ".join([f"cutopt {cutopt.__version__}", today(), *what])


def parser_for(name: str, seed: int) -> argparse.ArgumentParser:
    """The options that both commands have."""
    parser = argparse.ArgumentParser(prog=f"python -m tests.benchmarks.{name}")
    parser.add_argument("--seed", type=int, default=seed)
    parser.add_argument("--check-limit", type=float, default=300, help="seconds that the check of a plan may take")
    parser.add_argument("--out", type=Path, required=True, help="a line a result; what is in it is not done again")
    return parser
