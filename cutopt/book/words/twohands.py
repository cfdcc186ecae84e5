"""Two people at once, one at the bench and one at the saws: what each does when, and who waits for what.

Each takes the first step of the plan's order that is ready: one at a station of theirs, with all of its `after` done.
A cut at a fence also waits for the fence cuts before it, so that two people set the fence no oftener than one does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from types import MappingProxyType
from typing import Literal

from cutopt.planfile.model import Plan, Step

Person = Literal["bench", "saw"]
PEOPLE: tuple[Person, ...] = ("bench", "saw")
SAWS = ("table saw", "guided saw", "jigsaw")
SETTING = "setting fences"  # the name of its minutes among the totals


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A step in somebody's hands, in minutes from the beginning, and for how long and what they waited before it."""

    step: Step
    start: float
    end: float
    waited: float
    waits_for: int | None


@dataclass(frozen=True, kw_only=True, slots=True)
class TwoHands:
    """Both people's jobs in their order; minutes until all steps are done by two people, and by one."""

    jobs: Mapping[Person, tuple[Job, ...]]
    minutes: float
    alone: float


def two_hands(plan: Plan) -> TwoHands:
    """Work through the steps with two people, all copies of a step at once.

    Setting a fence is counted at the first cut of each setting; laying is not among the steps. Where steps wait for
    each other in a circle, the lowest number is taken when nothing else is left.
    """
    minutes = _minutes(plan)
    floor = _Floor(plan.steps, minutes)
    while floor.left:
        floor.go_on()
    jobs = MappingProxyType({who: tuple(floor.jobs[who]) for who in PEOPLE})
    end = max((job.end for done in jobs.values() for job in done), default=0.0)
    return TwoHands(jobs=jobs, minutes=end, alone=sum(minutes.values()))


@dataclass(frozen=True, kw_only=True, slots=True)
class Stint:
    """What somebody does at one tile without a wait: jobs in a row, and those of them that the other waits for."""

    jobs: tuple[Job, ...]
    wanted: tuple[int, ...]

    @property
    def numbers(self) -> str:
        """The steps, those that follow each other together: "1–3, 6"."""
        runs: list[list[int]] = []
        for job in self.jobs:
            if runs and job.step.n == runs[-1][-1] + 1:
                runs[-1].append(job.step.n)
            else:
                runs.append([job.step.n])
        return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}–{run[-1]}" for run in runs)

    @property
    def site(self) -> bool:
        """Whether it is done on site."""
        return self.jobs[0].step.where == "site"


def stints(hands: TwoHands, who: Person) -> tuple[Stint, ...]:
    """One person's jobs as lines of a list."""
    wanted = {job.waits_for for jobs in hands.jobs.values() for job in jobs}
    runs: list[list[Job]] = []
    for job in hands.jobs[who]:
        goes_on = runs and job.waited == 0 and _spot(job) == _spot(runs[-1][-1])
        if goes_on:
            runs[-1].append(job)
        else:
            runs.append([job])
    return tuple(
        Stint(jobs=tuple(run), wanted=tuple(job.step.n for job in run if job.step.n in wanted)) for run in runs
    )


def _spot(job: Job) -> tuple[str, str]:
    return job.step.source, job.step.where


def person_at(station: str) -> Person:
    """Whose station it is."""
    return "saw" if station in SAWS else "bench"


def _minutes(plan: Plan) -> dict[int, float]:
    """Of each step, with its share of the time that goes into setting fences."""
    each = plan.totals.minutes_by_station.get(SETTING, 0.0) / max(1, plan.totals.setups)
    found = {step.n: step.minutes for step in plan.steps}
    stands: tuple[float, str] | None = None
    for step in _at_fence(plan.steps):
        if step.setup is not None and stands != (step.setup.fence, step.setup.datum[0]):
            stands = (step.setup.fence, step.setup.datum[0])
            found[step.n] += each
    return found


def _at_fence(steps: Sequence[Step]) -> Iterator[Step]:
    return (step for step in steps if step.setup is not None)


def _waits(steps: Sequence[Step]) -> dict[int, set[int]]:
    """The steps that each step waits for, without such as the plan does not have."""
    known = {step.n for step in steps}
    found = {step.n: {n for n in step.after if n in known} for step in steps}
    before: int | None = None
    for step in _at_fence(steps):
        if before is not None:
            found[step.n].add(before)
        before = step.n
    return found


class _Floor:
    """The workshop at a moment: which steps are ready since when, and from when on each person is free."""

    def __init__(self, steps: Sequence[Step], minutes: Mapping[int, float]) -> None:
        self.jobs: dict[Person, list[Job]] = {who: [] for who in PEOPLE}
        self.left = {step.n: step for step in steps}
        self._minutes = minutes
        self._owed = _waits(steps)
        self._frees: dict[int, list[int]] = {n: [] for n in self.left}
        for n, owed in self._owed.items():
            for first in owed:
                self._frees[first].append(n)
        self._since: dict[int, tuple[float, int | None]] = dict.fromkeys(self.left, (0.0, None))
        self._free: dict[Person, float] = dict.fromkeys(PEOPLE, 0.0)
        self._ready: dict[Person, list[int]] = {who: [] for who in PEOPLE}  # heaps of numbers
        self._coming: dict[Person, list[tuple[float, int]]] = {who: [] for who in PEOPLE}  # heaps of (since, number)
        for n, owed in self._owed.items():
            if not owed:
                self._comes(n)

    def go_on(self) -> None:
        """The one who can start first takes a step; of two at the same moment the one with the lower number."""
        starts = [(*found, who) for who in PEOPLE if (found := self._next(who)) is not None]
        if starts:
            self._take(*min(starts))
        else:
            self._comes(min(self.left))

    def _next(self, who: Person) -> tuple[float, int] | None:
        """When this person can start, and on what."""
        ready, coming = self._ready[who], self._coming[who]
        while coming and (coming[0][0] <= self._free[who] or coming[0][1] not in self.left):
            heappush(ready, heappop(coming)[1])
        while ready and ready[0] not in self.left:
            heappop(ready)
        if ready:
            return self._free[who], ready[0]
        return coming[0] if coming else None

    def _take(self, start: float, n: int, who: Person) -> None:
        step, end = self.left.pop(n), start + self._minutes[n]
        waited = start - self._free[who]
        waits_for = self._since[n][1] if waited > 0 else None
        self.jobs[who].append(Job(step=step, start=start, end=end, waited=waited, waits_for=waits_for))
        self._free[who] = end
        for later in self._frees[n]:
            self._owed[later].discard(n)
            self._since[later] = max(self._since[later], (end, n), key=lambda since: since[0])
            if not self._owed[later] and later in self.left:
                self._comes(later)

    def _comes(self, n: int) -> None:
        heappush(self._coming[person_at(self.left[n].station)], (self._since[n][0], n))
