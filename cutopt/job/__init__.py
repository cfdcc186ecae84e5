"""The job file: TOML → `Job`, with every mistake in one run."""

from cutopt.job.reading import load_job
from cutopt.job.records import Job

__all__ = ["Job", "load_job"]
