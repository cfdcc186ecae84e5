"""How cutopt grows with the size of the work: `python -m tests.benchmarks.ladder --out ladder.jsonl`.

plaza-n        n × n cells, walls out of square, 2 n posts, no two pieces equal; factory edges, a fixed grid
balconies-…    300 balconies of three kinds in one job, at a fixed grid or at the best of many
laying-n       laying alone, about that many cells: the ground worked out, every cell filled
demo           `cutopt demo` in all as a process, against the time to import ortools and shapely

Every step runs in a process of its own with a limit; a line is written for each as soon as it is done, and a run that
is started again goes on where it stopped. `--step plaza-50` runs that step alone; it may be given more than once.
"""

from __future__ import annotations

import argparse
import math
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path

import cutopt
from cutopt.errors import CutoptError
from tests.benchmarks.apart import apart, kept, peak
from tests.benchmarks.ladder_sites import balconies_text, plaza_job, plaza_text
from tests.benchmarks.roofs import open_parts
from tests.jobs import TOP, job_of, layout_of

PLAZAS = (10, 25, 50, 100)  # cells a side
LAYINGS = {1_000: 32, 10_000: 100, 100_000: 316}  # cells: cells a side
PLAZA_SECONDS, BALCONY_SECONDS = 60.0, 10.0  # limits of the search
STEPS = (
    *(f"plaza-{n}" for n in PLAZAS),
    "balconies-full-first",
    "balconies-best",
    *(f"laying-{cells}" for cells in LAYINGS),
    "demo",
)
DEMO = ("-m", "cutopt", "demo", "--quiet")
IMPORTS = ("-c", "import ortools.sat.python.cp_model, shapely")
REPEATS = 3


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
class Result:
    """A line of the file. `why`: why there are no figures, or empty.

    `seconds`: of planning, of laying, or of the whole command, the median of three. `kinds`: different outlines of
    pieces. `cut` and `bound`: tiles that are cut. `open`: parts of cells that stay open. `faults`: what the checker
    found, in its words. `imports`: seconds to start Python and import ortools and shapely, the median of three.
    """

    label: str
    name: str
    day: str
    why: str = ""
    seconds: float = 0.0
    memory: int = 0
    cells: int = 0
    pieces: int = 0
    kinds: int = 0
    cut: int = 0
    bound: int = 0
    proven: bool = False
    stopped: str = ""
    open: int = 0
    faults: tuple[str, ...] = ()
    check_seconds: float = 0.0
    imports: float = 0.0


def run(step: Step) -> Result:
    """The figures of a step, in this process."""
    what, _, which = step.name.partition("-")
    if what == "plaza":
        return _planned(step, plaza_text(int(which), PLAZA_SECONDS, step.seed))
    if what == "balconies":
        return _planned(step, balconies_text(which, BALCONY_SECONDS, step.seed))
    if what == "laying":
        return _laid(step, int(which))
    return _demo(step)


def measure(step: Step, *, limit: float) -> Result:
    """The figures of a step, in a process of its own."""
    answer = apart(run, step, limit)
    return answer if isinstance(answer, Result) else replace(_blank(step), why=answer)


def _blank(step: Step) -> Result:
    return Result(label=step.label, name=step.name, day=date.today().isoformat())


def _planned(step: Step, text: str) -> Result:
    job = job_of(text)
    start = time.perf_counter()
    try:
        plan = cutopt.plan(job, seed=step.seed)
    except CutoptError as error:
        return replace(_blank(step), why=f"{type(error).__name__}: {error}")
    middle, memory = time.perf_counter(), peak()
    findings = cutopt.check(plan)
    return replace(
        _blank(step),
        seconds=round(middle - start, 2),
        memory=memory,
        cells=sum(area.count * len(area.cells) for area in plan.areas),
        pieces=plan.totals.pieces,
        kinds=len({piece.outline for piece in plan.pieces}),
        cut=plan.totals.cut,
        bound=plan.totals.lower_bound,
        proven=plan.totals.proven,
        stopped=plan.proof.stopped,
        open=open_parts(plan),
        faults=tuple(map(str, findings)),
        check_seconds=round(time.perf_counter() - middle, 2),
    )


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
    lines += [f"No figures: {one.name}: {one.why}" for one in results if one.why]
    return "\n".join([*lines, *(f"Finding: {one.name}: {fault}" for one in good for fault in one.faults)])


def _plans(plans: Sequence[Result]) -> list[str]:
    head = "| step | cells | pieces | kinds | cut tiles | bound | gap | proven | open | s | MiB | check s | findings |"
    rows = [
        f"| {one.name} | {one.cells} | {one.pieces} | {one.kinds} | {one.cut} | {one.bound} "
        f"| {(one.cut - one.bound) / max(one.cut, 1):.2%} | {'yes' if one.proven else one.stopped} | {one.open} "
        f"| {one.seconds:.1f} | {one.memory} | {one.check_seconds:.1f} | {len(one.faults)} |"
        for one in plans
    ]
    return [head, "|---|" + "---:|" * 12, *rows, ""] if rows else []


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
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.ladder")
    parser.add_argument("--step", choices=STEPS, action="append", help="all of them unless given")
    parser.add_argument("--limit", type=float, default=900, help="seconds that a step may take in all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args(arguments)
    steps = [Step(name=name, seed=given.seed) for name in given.step or STEPS]
    results = kept(steps, partial(measure, limit=given.limit), Result, given.out, 1)
    head = (
        f"cutopt {cutopt.__version__}, {date.today()}, seed {given.seed}, limit {given.limit:g} s a step, one at a time"
    )
    sys.stdout.write(f"{head}\n\n{table(results)}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
