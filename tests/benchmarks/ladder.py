"""How cutopt grows with the size of the work: `python -m tests.benchmarks.ladder --out ladder.jsonl`.

plaza-n        n × n cells, walls out of square, 2 n posts, no two pieces equal; factory edges, a fixed grid
balconies-…    300 balconies of three kinds in one job, at a fixed grid or at the best of many
…-anywhere     the same with that strategy, at a fixed grid
laying-n       laying alone, about that many cells: the ground worked out, every cell filled
demo           `cutopt demo` in all as a process, against the time to import ortools and shapely

Every step runs in a process of its own; planning has a limit, and the check of the plan another. A line is written for
each step as soon as it is done, and a run that is started again goes on where it stopped. `--step plaza-50` runs that
step alone; it may be given more than once. The steps of `BARS` are held against them.
"""

from __future__ import annotations

import math
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import cutopt
from tests.benchmarks.apart import kept, peak
from tests.benchmarks.ladder_sites import balconies_text, plaza_job, plaza_text
from tests.benchmarks.planned import Figures, checked, heading, measured, parser_for, planned, today, told
from tests.jobs import TOP, job_of, layout_of

PLAZAS = (10, 25, 50, 100)  # cells a side
LAYINGS = {1_000: 32, 10_000: 100, 100_000: 316}  # cells: cells a side
PLAZA_SECONDS, BALCONY_SECONDS = 60.0, 10.0  # limits of the search
STEPS = (
    *(f"plaza-{n}" for n in PLAZAS),
    "plaza-10-anywhere",
    "plaza-25-anywhere",
    "balconies-full-first",
    "balconies-best",
    "balconies-anywhere",
    *(f"laying-{cells}" for cells in LAYINGS),
    "demo",
)
DEMO = ("-m", "cutopt", "demo", "--quiet")
IMPORTS = ("-c", "import ortools.sat.python.cp_model, shapely")
REPEATS = 3


@dataclass(frozen=True, kw_only=True, slots=True)
class Bar:
    """What a plan should keep to: seconds and MiB of planning, and the gap on its cut tiles; 0 is proven."""

    seconds: float
    memory: int
    gap: float

    def missed(self, one: Result) -> str:
        """What a result misses of it, or nothing."""
        found = {"seconds": one.seconds > self.seconds, "memory": one.memory > self.memory, "gap": one.gap > self.gap}
        if self.gap == 0:
            found["proof"] = not one.proven
        return ", ".join(what for what, missed in found.items() if missed)

    def __str__(self) -> str:
        proof = "proven" if self.gap == 0 else f"gap {self.gap:.0%}"
        return f"{self.seconds:g} s, {self.memory} MiB, {proof}"


BARS = {
    "plaza-100": Bar(seconds=60, memory=2048, gap=0.01),
    "balconies-full-first": Bar(seconds=10, memory=2048, gap=0),
    "balconies-best": Bar(seconds=10, memory=2048, gap=0),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One of `STEPS`, or a plaza or a laying of another size: `plaza-12`."""

    name: str
    seed: int

    @property
    def label(self) -> str:
        """The step and all that its result depends on."""
        return f"{self.name}, seed {self.seed}, cutopt {cutopt.__version__}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Result(Figures):
    """A line of the file.

    `seconds`: of planning, of laying, or of the whole command, the median of three. `kinds`: different outlines of
    pieces. `imports`: seconds to start Python and import ortools and shapely, the median of three.
    """

    cells: int = 0
    kinds: int = 0
    imports: float = 0.0


def run(step: Step) -> Iterator[Result]:
    """The figures of a step, in this process: of a plan first without its check, then with it."""
    what, _, which = step.name.partition("-")
    if what == "plaza":
        side, _, strategy = which.partition("-")
        yield from _planned(step, plaza_text(int(side), PLAZA_SECONDS, step.seed, strategy or "factory-edge"))
    elif what == "balconies":
        grid, strategy = ("full-first", which) if which == "anywhere" else (which, "factory-edge")
        yield from _planned(step, balconies_text(grid, BALCONY_SECONDS, step.seed, strategy))
    else:
        yield _laid(step, int(which)) if what == "laying" else _demo(step)


def measure(step: Step, *, limit: float, check_limit: float) -> Result:
    """The figures of a step, in a process of its own."""
    limits = [limit] if step.name.startswith(("laying", "demo")) else [limit, check_limit]
    return measured(run, step, _blank(step), limits)


def _blank(step: Step) -> Result:
    return Result(label=step.label, name=step.name, day=today())


def _planned(step: Step, text: str) -> Iterator[Result]:
    result, plan = planned(_blank(step), lambda: job_of(text), step.seed)
    if plan is None:
        yield result
        return
    cells = sum(area.count * len(area.cells) for area in plan.areas)
    result = replace(result, cells=cells, kinds=len({piece.outline for piece in plan.pieces}))
    yield result
    yield checked(result, plan)


def _laid(step: Step, cells: int) -> Result:
    """The side is known for the sizes of `LAYINGS`; else it is the root of the cells."""
    job = plaza_job(LAYINGS.get(cells, round(math.sqrt(cells))), step.seed)
    layout_of(plaza_job(PLAZAS[0], step.seed))  # what is loaded once is loaded now
    start = time.perf_counter()
    layout = layout_of(job)
    seconds = time.perf_counter() - start
    return replace(
        _blank(step),
        seconds=round(seconds, 3),
        memory=peak(),
        cells=len(layout.cells),
        pieces=len(layout.pieces),
        kinds=len({piece.shape.outline for piece in layout.pieces}),
        open=sum(len(cell.left) for cell in layout.cells),
    )


def _demo(step: Step) -> Result:
    with tempfile.TemporaryDirectory() as folder:
        demo = [_lasting(*DEMO, "--out", str(Path(folder, str(n)))) for n in range(REPEATS)]
    imports = [_lasting(*IMPORTS) for _ in range(REPEATS)]
    return replace(
        _blank(step), seconds=round(statistics.median(demo), 2), imports=round(statistics.median(imports), 2)
    )


def _lasting(*order: str) -> float:
    """Seconds that a Python process takes; one that fails is an error."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *order], check=True, cwd=TOP, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def table(results: Sequence[Result]) -> str:
    """A table each of plans, of laying and of the demo, as far as there are any; then what failed."""
    good = [one for one in results if not one.why]
    plans = [one for one in good if one.stopped]
    layings = [one for one in good if one.name.startswith("laying")]
    lines = [line for some in (_plans(plans), _layings(layings), _demos(good)) for line in some]
    return "\n".join([*lines, *told(results)])


def _plans(plans: Sequence[Result]) -> list[str]:
    head = (
        "| step | cells | pieces | kinds | cut tiles | bound | gap | proven | open | s | processor s | MiB "
        "| check s | findings |"
    )
    rows = [
        f"| {one.name} | {one.cells} | {one.pieces} | {one.kinds} | {one.cut} | {one.bound} "
        f"| {one.gap:.2%} | {'yes' if one.proven else 'no'} | {one.open} | {one.seconds:.1f} | {one.processor:.1f} "
        f"| {one.memory} | {one.check_seconds:.1f} | {one.found} |"
        for one in plans
    ]
    bars = [f"Bar: {one.name}: {bar}: {_said(bar, one)}" for one in plans if (bar := BARS.get(one.name))]
    return [head, "|---|" + "---:|" * 13, *rows, "", *bars, ""] if rows else []


def _said(bar: Bar, one: Result) -> str:
    missed = bar.missed(one)
    return f"missed by {missed}" if missed else "kept"


def _layings(layings: Sequence[Result]) -> list[str]:
    """Growth: the power of the number of cells by which the time has grown since the row above; 1 is in step."""
    rows = []
    for before, one in zip([None, *layings], layings, strict=False):
        power = "–" if before is None or before.cells == one.cells else f"{_power(before, one):.2f}"
        rows.append(f"| {one.name} | {one.cells} | {one.pieces} | {one.seconds:.2f} | {power} | {one.memory} |")
    return ["| step | cells | pieces | s | growth | MiB |", "|---|" + "---:|" * 5, *rows, ""] if rows else []


def _power(before: Result, one: Result) -> float:
    least = 0.001  # seconds: what the figures are rounded to
    return math.log(max(one.seconds, least) / max(before.seconds, least)) / math.log(one.cells / before.cells)


def _demos(good: Sequence[Result]) -> list[str]:
    rows = [
        f"| {one.name} | {one.seconds:.2f} | {one.imports:.2f} | {one.seconds / one.imports:.1f} |"
        for one in good
        if one.imports
    ]
    return ["| step | s | imports s | ratio |", "|---|---:|---:|---:|", *rows, ""] if rows else []


def main(arguments: Sequence[str]) -> None:
    parser = parser_for("ladder", 1)
    parser.add_argument("--step", choices=STEPS, action="append", help="all of them unless given")
    parser.add_argument("--limit", type=float, default=900, help="seconds that a step may take without its check")
    given = parser.parse_args(arguments)
    steps = [Step(name=name, seed=given.seed) for name in given.step or STEPS]
    work = partial(measure, limit=given.limit, check_limit=given.check_limit)
    results = kept(steps, work, Result, given.out, 1)
    limits = f"limits {given.limit:g} s a step and {given.check_limit:g} s a check, one at a time"
    sys.stdout.write(f"{heading(f'seed {given.seed}', limits)}\n\n{table(results)}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
