"""The verb: a job becomes a plan. The body of `plan` reads like the way through."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from cutopt.errors import BadInput, Mistake, NoPlan, OurFault, ShortOfBackers
from cutopt.fit import Carpenter
from cutopt.gridchoice import Choice, Chooser, Grid, Progress, Report, alike, grouped, worked_out
from cutopt.hang import HungSource, hang, supports_of
from cutopt.job.records import Area, Job
from cutopt.lay import Surveyed
from cutopt.memory import rarely_searched
from cutopt.planfile import Plan
from cutopt.site import sited
from cutopt.wording import shown
from cutopt.writeup import Result, plan_of

OTHERS = 4  # cut plans of as many tiles that are tried where the wood for one does not do
MOST_FEWER = 4  # times the backers that were missing: how much less wood is counted on

__all__ = ["Progress", "Report", "plan"]


@rarely_searched()
def plan(job: Job, *, seconds: float | None = None, seed: int = 0, progress: Report | None = None) -> Plan:
    """Plan a job.

    `seconds` overrides the job's limit of the search; `progress` is called as it goes on. The same job gives the same
    plan; the search draws no random numbers, and `seed` is only noted in the plan. Raises `NoPlan` where the rules
    leave nothing to be laid, and `BadInput` where `seconds` or `seed` is no limit or no seed.
    """
    _check_search(seconds, seed)
    if seconds is not None:
        job = replace(job, cutting=replace(job.cutting, seconds=seconds))
    areas = tuple(Surveyed(index=i, site=sited(area), job=job) for i, area in enumerate(job.areas))
    carpenter = Carpenter(tile=job.tile, rules=job.rules, mark=job.mark)
    chooser = Chooser(areas=areas, job=job, carpenter=carpenter, progress=progress)
    choice = chooser.choose()
    making = _Making(job=job, carpenter=carpenter, chooser=chooser, choice=choice, seed=seed)
    return making.told(making.best())


@dataclass(frozen=True, kw_only=True, slots=True)
class _Making:
    """A plan of what was chosen."""

    job: Job
    carpenter: Carpenter
    chooser: Chooser
    choice: Choice
    seed: int

    def best(self) -> _Hung:
        """The best grid whose wood does. By other aims than tiles, of the grids that rank first, full-first and centred
        ones among them, the one that comes to least when its steps are known: grids are ranked without the work that
        these decide, of which setting fences is the most.
        """
        aim, finalists = self.job.cutting.aim, self.choice.finalists
        if aim == "tiles" or len(finalists) == 1:
            return _hung(self.choice.ranked, self.job, self.carpenter)
        found: list[tuple[float, int, _Hung]] = []
        refused: NoPlan | None = None
        for number, grid in enumerate(finalists):
            try:
                hung = _hung([grid], self.job, self.carpenter)
            except NoPlan as error:
                refused = refused or error
                continue
            totals = self._plan(hung).totals
            found.append(((totals.cost if aim == "cost" else totals.minutes) + grid.open, number, hung))
        if not found:
            raise refused or OurFault("no grid start was worked out")
        return min(found, key=lambda one: one[:2])[2]

    def told(self, hung: _Hung) -> Plan:
        """The plan, with the nearest thing that would work where a part stays open."""
        return self._plan(replace(hung, grid=self.chooser.told(hung.grid, hung.areas)))

    def _plan(self, hung: _Hung) -> Plan:
        grid, choice = hung.grid, self.choice
        supports = [
            support
            for area, layout in zip(hung.areas, grid.layouts, strict=True)
            for support in supports_of(area, layout, hung.sources, grid.pieces)
        ]
        return plan_of(
            Result(
                job=hung.job,
                areas=hung.areas,
                layouts=grid.layouts,
                pieces=grid.pieces,
                cut=grid.cut,
                sources=hung.sources,
                supports=tuple(supports),
                considered=choice.considered,
                dropped=choice.considered - choice.expanded,
                finished=choice.finished,
                interrupted=choice.interrupted,
                seed=self.seed,
            )
        )


def _check_search(seconds: object, seed: object) -> None:
    mistakes = []
    number = isinstance(seconds, int | float) and not isinstance(seconds, bool)
    if seconds is not None and not (number and 0 < seconds < math.inf):  # type: ignore[operator]
        rule, remedy = "a limit is a number of seconds above 0", "give 20, or nothing for the job's own"
        mistakes.append(Mistake(file="plan", key="seconds", value=shown(seconds), rule=rule, remedy=remedy))
    if not isinstance(seed, int) or isinstance(seed, bool) or seed < 0:
        rule, remedy = "a seed is a whole number, 0 or more", "give 0"
        mistakes.append(Mistake(file="plan", key="seed", value=shown(seed), rule=rule, remedy=remedy))
    if mistakes:
        raise BadInput(mistakes)


@dataclass(frozen=True, kw_only=True, slots=True)
class _Hung:
    """A grid with its areas in groups, and its sources hung."""

    grid: Grid
    areas: tuple[Surveyed, ...]
    job: Job
    sources: tuple[HungSource, ...]


def _hung(ranked: Sequence[Grid], job: Job, carpenter: Carpenter) -> _Hung:
    """The first grid whose wood does. Raises `NoPlan` where none has it."""
    shortage: NoPlan | None = None
    for grid in ranked:
        try:
            return _hung_sparing(*grouped(grid, job, carpenter), carpenter, job.areas)
        except ShortOfBackers as short:
            shortage = shortage or short
    raise shortage or OurFault("no grid start was worked out")


def _hung_sparing(
    grid: Grid, areas: tuple[Surveyed, ...], job: Job, carpenter: Carpenter, whole: tuple[Area, ...]
) -> _Hung:
    """The sources hung. Where wood does not do that the cut plan counts on, other plans of as many tiles are tried,
    then the plan is made again with less of it, and at last with a tile for every piece.

    `whole`: the areas as the job has them, before they were in groups.
    """
    try:
        return _hung_alike(grid, areas, job, whole)
    except ShortOfBackers as short:
        for number in range(1, OTHERS + 1 if job.cutting.aim == "tiles" else 1):
            with suppress(NoPlan):
                other = worked_out(grid.layouts, areas, job, carpenter, twins=False, other=number).bounded(grid.cut)
                if other.cut.count <= grid.cut.count:
                    return _hung_alike(other, areas, job, whole)
        for frugal in _frugal(job, short.excess):
            with suppress(NoPlan):
                other = worked_out(grid.layouts, areas, frugal, carpenter, twins=False).bounded(grid.cut)
                return _hung_alike(other, areas, job, whole)
        raise


def _frugal(job: Job, excess: int) -> Iterator[Job]:
    """The job with fewer and fewer spare backers to count on, and with a tile for every piece."""
    allowed = job.rules.spare_backers
    for fewer in dict.fromkeys(min(times * excess, allowed) for times in range(1, MOST_FEWER + 1)):
        yield replace(job, rules=replace(job.rules, spare_backers=allowed - fewer))
    yield replace(job, cutting=replace(job.cutting, strategy="one-for-one"))


def _hung_alike(grid: Grid, areas: tuple[Surveyed, ...], job: Job, whole: tuple[Area, ...]) -> _Hung:
    grid, areas, job = alike(grid, areas, job, whole)
    return _Hung(grid=grid, areas=areas, job=job, sources=hang(grid.cut.tiles, job))
