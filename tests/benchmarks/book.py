"""How long the cut book of a large job takes: `python -m tests.benchmarks.book`.

A job of 200 invented terraces, no two alike, walls out of square on three sides, is planned; then its plan file is read
and the book made of it as the commands do: page, PDF and lists, in as many processes as they use. The bar is a book of
2,000 tiles to cut in 30 s, from the reading of the plan file to the last byte, on two processors. `--terraces 40` takes
fewer.
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cutopt
from cutopt.book import book_files
from cutopt.job.records import Job
from cutopt.planfile import dump, load
from tests.benchmarks.apart import peak
from tests.benchmarks.planned import heading
from tests.jobs import area_text, job_of

TERRACES, SEED = 200, 5
TILES, BAR = 2000, 30.0  # tiles to cut, and seconds for their book
SECONDS = 20.0  # limit of the search
HEAD = f"""[tile]
use = "hardwood-600"
[lay]
pitch = "604 mm"
grid = "full-first"
[cut]
strategy = "factory-edge"
seconds = {SECONDS}
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Made:
    """A book and what it took: seconds on the wall, those of all processors, MiB of the largest process."""

    tiles: int
    areas: int
    steps: int
    plan_seconds: float
    load_seconds: float
    seconds: float
    processor: float
    memory: int
    megabytes: dict[str, float]

    @property
    def pace(self) -> float:
        """Seconds for a book of as many tiles as the bar has."""
        return self.seconds * TILES / max(1, self.tiles)


def terraces_job(count: int, seed: int) -> Job:
    """So many terraces, each of its own size and out of square in its own way."""
    dice = random.Random(seed)
    areas = []
    for n in range(1, count + 1):
        wide, deep = dice.randint(5800, 6800), dice.randint(4000, 4900)
        lean, rise = dice.randint(2, 30), dice.randint(2, 30)
        corners = ((0, 0), (wide, 0), (wide + lean, deep), (-lean, deep + rise))
        areas.append(area_text(corners, name=f"Terrace {n}"))
    return job_of(HEAD + "".join(areas))


def measure(count: int, seed: int) -> Made:
    """Plan the job, then read its plan file and make the book."""
    start = time.perf_counter()
    planned = cutopt.plan(terraces_job(count, seed), seed=seed)
    plan_seconds = time.perf_counter() - start
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "plan.json"
        file.write_text(dump(planned), encoding="utf-8")
        start, used = time.perf_counter(), _processor()
        plan = load(file)
        load_seconds = time.perf_counter() - start
        files = book_files(plan)
    return Made(
        tiles=plan.totals.cut,
        areas=len(plan.areas),
        steps=len(plan.steps),
        plan_seconds=plan_seconds,
        load_seconds=load_seconds,
        seconds=time.perf_counter() - start,
        processor=_processor() - used,
        memory=peak(),
        megabytes={name: len(content) / 1e6 for name, content in files.items()},
    )


def _processor() -> float:
    """Seconds of this process and those that it has waited for."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in both)


def table(made: Made, seed: int) -> str:
    """The result as a table, held against the bar."""
    rows = [
        ("areas", str(made.areas)),
        ("tiles to cut", str(made.tiles)),
        ("steps", str(made.steps)),
        ("planning, s", f"{made.plan_seconds:.1f}"),
        ("reading the plan file, s", f"{made.load_seconds:.1f}"),
        ("reading it and making the book, s", f"{made.seconds:.1f}"),
        ("the same, processor s", f"{made.processor:.1f}"),
        (f"a book of {TILES} tiles at that pace, s (bar {BAR:g})", f"{made.pace:.1f}"),
        ("such a book, processor s", f"{made.processor * TILES / max(1, made.tiles):.1f}"),
        ("peak memory, MiB", str(made.memory)),
        *((f"{name}, MB", f"{size:.1f}") for name, size in made.megabytes.items()),
    ]
    lines = [f"| {what} | {figure} |" for what, figure in rows]
    return "\n".join([heading(f"seed {seed}"), "", "| what | figure |", "|---|---:|", *lines])


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure and print; 1 where the bar is missed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.book")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--terraces", type=int, default=TERRACES, help="areas of the job, at most 200")
    asked = parser.parse_args(arguments)
    made = measure(asked.terraces, asked.seed)
    sys.stdout.write(f"{table(made, asked.seed)}\n")
    return int(made.pace > BAR)


if __name__ == "__main__":
    sys.exit(main())
