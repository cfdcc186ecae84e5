"""Jobs for tests, written as a job file would have them and read by the reader of job files."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from cutopt.fit import Carpenter
from cutopt.job import load_job
from cutopt.job.records import Job
from cutopt.lay import Layout, Surveyed, lay, starts
from cutopt.site import sited

TOP = Path(__file__).parents[1]
JOBS = TOP / "fixtures" / "jobs"

Corner = tuple[float, float]


@cache
def job_of(text: str) -> Job:
    """The job of a file with this text under its two lines of format and version."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(f'format = "cutopt-job"\nversion = 1\n{text}', encoding="utf-8")
        return load_job(path)


def area_text(corners: Sequence[Corner], edges: Sequence[str] = (), *, name: str = "Room", more: str = "") -> str:
    """An [[area]] with corners in millimetres; edges are walls unless told."""
    points = ", ".join(f"[{x!r}, {y!r}]" for x, y in corners)
    kinds = f"edges = [{', '.join(repr(kind) for kind in edges)}]\n" if edges else ""
    return f'[[area]]\nname = "{name}"\ncorners = [{points}]\n{kinds}{more}'


def post_text(x: float, y: float, size: float, *, name: str = "post", kind: str = "post") -> str:
    """A square post, its centre and side in millimetres."""
    return f'[[area.post]]\nname = "{name}"\nkind = "{kind}"\nat = [{x!r}, {y!r}]\nsize = [{size!r}, {size!r}]\n'


def room(
    width: float,
    depth: float,
    edges: Sequence[str] = (),
    *,
    tile: str = "hardwood-600",
    grid: str = '"full-first"',
    lay: str = "",
    before: str = "",
    more: str = "",
) -> Job:
    """A square room in millimetres. `lay` are lines of [lay], `before` whole tables, `more` lines of the area."""
    head = f'[tile]\nuse = "{tile}"\n[lay]\ngrid = {grid}\n{lay}\n{before}\n'
    return job_of(head + area_text([(0, 0), (width, 0), (width, depth), (0, depth)], edges, more=more))


def surveyed(job: Job) -> Surveyed:
    """The job's only area, ready to be laid."""
    (area,) = job.areas
    return Surveyed(index=0, site=sited(area), job=job)


def layout_of(job: Job) -> Layout:
    """The job's only area at its first grid start."""
    area = surveyed(job)
    return lay(area, starts(area)[0])


def carpenter_of(job: Job) -> Carpenter:
    """A carpenter with the job's tile and rules."""
    return Carpenter(tile=job.tile, rules=job.rules)
