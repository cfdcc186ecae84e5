"""The verb: a job becomes a plan. The body of `plan` reads like the way through."""

from __future__ import annotations

from dataclasses import replace

from cutopt.fit import Carpenter
from cutopt.gridchoice import Chooser, Progress, Report
from cutopt.hang import hang, supports_of
from cutopt.job.records import Job
from cutopt.lay import Surveyed
from cutopt.planfile import Plan
from cutopt.site import sited
from cutopt.writeup import Result, plan_of

__all__ = ["Progress", "Report", "plan"]


def plan(job: Job, *, seconds: float | None = None, seed: int = 0, progress: Report | None = None) -> Plan:
    """Plan a job.

    `seconds` overrides the job's limit of the search; `progress` is called as it goes on. The same job gives the same
    plan; the search draws no random numbers, and `seed` is only noted in the plan. Raises `NoPlan` where the rules
    leave nothing to be laid.
    """
    if seconds is not None:
        job = replace(job, cutting=replace(job.cutting, seconds=seconds))
    areas = tuple(Surveyed(index=i, site=sited(area), job=job) for i, area in enumerate(job.areas))
    carpenter = Carpenter(tile=job.tile, rules=job.rules, mark=job.mark)
    choice = Chooser(areas=areas, job=job, carpenter=carpenter, progress=progress).choose()
    sources = hang(choice.best.cut.tiles, job)
    supports = [
        support
        for area, layout in zip(areas, choice.best.layouts, strict=True)
        for support in supports_of(area, layout, sources, choice.best.pieces)
    ]
    return plan_of(
        Result(
            job=job,
            areas=areas,
            layouts=choice.best.layouts,
            pieces=choice.best.pieces,
            cut=choice.best.cut,
            sources=sources,
            supports=tuple(supports),
            considered=choice.considered,
            dropped=choice.considered - choice.expanded,
            finished=choice.finished,
            seed=seed,
        )
    )
