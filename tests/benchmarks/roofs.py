"""How few tiles real roofs take, and how long planning and checking them lasts.

    python -m tests.benchmarks.roofs --download --out roofs.jsonl
    python -m tests.benchmarks.roofs --outlines roofs.geojson --strategy anywhere --stride 16 --out roofs.jsonl

One building is one job: the shipped 600 mm hardwood tile, walls all round, a pitch of 604 mm measured, all rules as
they are by default. It is planned and checked in a process of its own with a time-out; a line is written for each as
soon as it is done, and a run that is started again goes on where it stopped. `--stride 8` takes every eighth building.
The data and its licence are described in `tests.benchmarks.outlines`. With the grid `best`, `full-first` is planned
too, and the tiles saved are told. In the same run, under the same limit: first-fit decreasing by hand rules, and one
plain CP-SAT model, on the pieces of the plan, unless `--no-plain`.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import cutopt
from cutopt.job.records import Job
from cutopt.planfile import Plan
from tests.benchmarks.apart import kept
from tests.benchmarks.outlines import Outline, downloaded, of_file
from tests.benchmarks.planned import (
    Figures,
    checked,
    heading,
    measured,
    open_parts,
    parser_for,
    planned,
    today,
    told,
)
from tests.benchmarks.roofs_plain import boxes_of, by_hand, plain_model
from tests.jobs import area_text, job_of

SPARE = 300.0  # seconds that planning, and then the comparisons, may take beyond the limits of their searches


@dataclass(frozen=True, kw_only=True, slots=True)
class Roof:
    """One building to plan; `grid` full-first, centred or best."""

    outline: Outline
    strategy: str
    grid: str
    seconds: float
    seed: int
    plain: bool

    @property
    def label(self) -> str:
        """The building and all that its result depends on."""
        plain = "" if self.plain else ", no plain model"
        return (
            f"{self.outline.name}, {self.strategy}, {self.grid}, {self.seconds:g} s, seed {self.seed}{plain}, "
            f"cutopt {cutopt.__version__}"
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Result(Figures):
    """A line of the file. `one_for_one` are tiles in all.

    `first_tiles`, `first_open`: of the plan at full-first, where `best` was asked for. `hand`, `plain`: tiles that are
    cut by hand rules and by the plain model, which is None where it found nothing or was not asked.
    """

    square_metres: float
    one_for_one: int = 0
    first_tiles: int | None = None
    first_open: int = 0
    hand: int = 0
    plain: int | None = None
    plain_bound: int = 0
    plain_seconds: float = 0.0


def job_for(roof: Roof, grid: str) -> Job:
    """The building as a job file would have it."""
    head = f'[tile]\nuse = "hardwood-600"\n[lay]\npitch = "604 mm"\ngrid = "{grid}"\n'
    cut = f'[cut]\nstrategy = "{roof.strategy}"\nseconds = {roof.seconds}\n'
    return job_of(head + cut + area_text(roof.outline.corners, name="Roof"))


def measure(roof: Roof, *, check_limit: float) -> Result:
    """Plan, compare and check one building, in a process of its own."""
    compare = roof.seconds * (2 if roof.grid == "best" else 1) + SPARE
    return measured(run, roof, _blank(roof), [roof.seconds + SPARE, compare, check_limit])


def _blank(roof: Roof) -> Result:
    outline = roof.outline
    return Result(label=roof.label, name=outline.name, square_metres=round(outline.square_metres, 1), day=today())


def run(roof: Roof) -> Iterator[Result]:
    """One building planned, compared and checked in this process, the figures after each."""
    result, plan = planned(_blank(roof), lambda: job_for(roof, roof.grid), roof.seed)
    if plan is not None:
        result = replace(result, one_for_one=plan.totals.one_for_one)
    yield result
    if plan is not None:
        result = _compared(_with_first(result, roof), plan, roof)
        yield result
        yield checked(result, plan)


def _with_first(result: Result, roof: Roof) -> Result:
    if roof.grid != "best":
        return result
    first = cutopt.plan(job_for(roof, "full-first"), seed=roof.seed)
    return replace(result, first_tiles=first.totals.tiles, first_open=open_parts(first))


def _compared(result: Result, plan: Plan, roof: Roof) -> Result:
    boxes = boxes_of(plan)
    hand = by_hand(boxes)
    if not roof.plain:
        return replace(result, hand=hand)
    plain = plain_model(boxes, hand, roof.seconds)
    seconds = round(plain.seconds, 2)
    return replace(result, hand=hand, plain=plain.value, plain_bound=plain.bound, plain_seconds=seconds)


def table(results: Sequence[Result]) -> str:
    """The figures of a run in one table, then what failed and what the checker found."""
    good = [one for one in results if not one.why]
    lines = ["| what | figure |", "|---|---:|", f"| roofs | {len(results)} |", f"| plans | {len(good)} |"]
    if good:
        lines += [f"| {what} | {figure} |" for what, figure in _rows(good)]
    return "\n".join([*lines, "", *told(results)])


def _rows(good: Sequence[Result]) -> list[tuple[str, object]]:
    gaps = [one.gap for one in good]
    plans, checks = [one.seconds for one in good], [one.check_seconds for one in good if not one.unchecked]
    met = sum(one.cut == one.bound for one in good)
    rows: list[tuple[str, object]] = [
        ("plans with findings", sum(bool(one.faults) for one in good)),
        ("bound met", f"{met} = {met / len(good):.1%}"),
        ("proven", sum(one.proven for one in good)),
        ("gap on cut tiles, mean and worst", f"{statistics.mean(gaps):.2%}, {max(gaps):.2%}"),
        ("plan, median and worst", _two(plans)),
        ("plan, processor, median and worst", _two([one.processor for one in good])),
        ("check, median and worst", _two(checks or [0])),
        ("checks not finished", len(good) - len(checks)),
        ("peak memory of planning", f"{max(one.memory for one in good)} MiB"),
        ("pieces", sum(one.pieces for one in good)),
        ("parts left open", sum(one.open for one in good)),
        ("whole tiles", sum(one.whole for one in good)),
        ("cut tiles", sum(one.cut for one in good)),
        ("cut tiles, bound", sum(one.bound for one in good)),
        ("cut tiles, one for one", sum(one.one_for_one - one.whole for one in good)),
        ("cut tiles, first-fit decreasing by hand rules", sum(one.hand for one in good)),
    ]
    return [*rows, *_plain_rows(good), *_best_rows(good)]


def _two(seconds: Sequence[float]) -> str:
    return f"{statistics.median(seconds):.1f} s, {max(seconds):.1f} s"


def _plain_rows(good: Sequence[Result]) -> list[tuple[str, object]]:
    solved = [one for one in good if one.plain is not None]
    if not solved:
        return []
    here, ours = sum(one.plain or 0 for one in solved), sum(one.cut for one in solved)
    return [
        ("cut tiles, plain CP-SAT", f"{here} on {len(solved)} roofs, the plan {ours} there"),
        ("plain CP-SAT closed", sum(one.plain == one.plain_bound for one in solved)),
        ("plain CP-SAT, median", f"{statistics.median([one.plain_seconds for one in solved]):.1f} s"),
    ]


def _best_rows(good: Sequence[Result]) -> list[tuple[str, object]]:
    both = [(one, one.first_tiles) for one in good if one.first_tiles is not None]
    if not both:
        return []
    starts = [one.considered for one, _ in both]
    return [
        ("grid starts considered, fewest and most", f"{min(starts)}, {max(starts)}"),
        ("tiles saved against full-first", sum(first - one.whole - one.cut for one, first in both)),
        ("open parts fewer than at full-first", sum(one.first_open - one.open for one, _ in both)),
    ]


def roofs_of(given: argparse.Namespace) -> list[Roof]:
    """The buildings that the command line asks for."""
    outlines = of_file(given.outlines) if given.outlines else downloaded(given.cache)
    return [
        Roof(
            outline=outline,
            strategy=given.strategy,
            grid=given.grid,
            seconds=given.seconds,
            seed=given.seed,
            plain=not given.no_plain,
        )
        for outline in outlines[:: given.stride]
    ]


def main(arguments: Sequence[str]) -> None:
    parser = parser_for("roofs", 0)
    source = parser.add_mutually_exclusive_group(required=True)
    source.add_argument("--outlines", type=Path, help="a GeoJSON file with polygons in metres")
    source.add_argument("--download", action="store_true", help="take the outlines from the registry")
    parser.add_argument("--cache", type=Path, default=Path.home() / ".cache" / "cutopt-benchmarks")
    parser.add_argument("--strategy", choices=["factory-edge", "anywhere", "one-for-one"], default="factory-edge")
    parser.add_argument("--grid", choices=["full-first", "centred", "best"], default="full-first")
    parser.add_argument("--stride", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--no-plain", action="store_true", help="leave out the plain CP-SAT model")
    given = parser.parse_args(arguments)
    results = kept(roofs_of(given), partial(measure, check_limit=given.check_limit), Result, given.out, given.jobs)
    limits = f"limit {given.seconds:g} s, stride {given.stride}, {given.jobs} at a time"
    head = heading(given.strategy, given.grid, f"seed {given.seed}", limits)
    sys.stdout.write(f"{head}\n\n{table(results)}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
