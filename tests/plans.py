"""Plans that many tests look at, each made once a run."""

from __future__ import annotations

from functools import cache

from cutopt.job import load_job
from cutopt.job.records import Job
from cutopt.planfile import Plan
from cutopt.planning import plan
from cutopt.shipped import shared_folder
from tests.jobs import JOBS

# real and invented sites: see the head of each file
SITES = ("demo", "bishop-deck", "bishop-deck-500", "bishop-deck-24in", "balconies", "inches", "own-tile", "clockwise")


@cache
def job_named(name: str) -> Job:
    """The demo's job, or that of a file in fixtures/jobs."""
    return load_job(shared_folder() / "demo.toml" if name == "demo" else JOBS / f"{name}.toml")


@cache
def plan_named(name: str) -> Plan:
    """The plan of one of `SITES`."""
    return plan(job_named(name))


@cache
def plan_of(job_text: str) -> Plan:
    """The plan of a job given as text, as `tests.jobs.job_of` takes it."""
    from tests.jobs import job_of

    return plan(job_of(job_text))
