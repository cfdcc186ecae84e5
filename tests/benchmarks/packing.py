"""How few sheets and bars `pack` takes on published instances.

    python -m tests.benchmarks.packing two --download --out two.jsonl
    python -m tests.benchmarks.packing one --instances FOLDER --out one.jsonl

Writes a line for each instance as soon as it is done; started again with the same file, it goes on where it stopped.
`--stride 10` takes every tenth instance. In the same run, under the same limit: first-fit decreasing by hand rules
(rows of pieces, guillotine), and one plain CP-SAT model (not guillotine), unless `--no-plain`.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import resource
import statistics
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

import cutopt
from cutopt.cut import pack
from cutopt.packing import read_order, shelved
from tests.benchmarks.packing_instances import Lengths, Sheets, downloaded, lengths_of_folder, sheets_of_folder
from tests.benchmarks.packing_plain import plain_model
from tests.benchmarks.packing_published import TEXTBOOK, published
from tests.packing.sawn import faults


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """One instance to pack. `fewest`: the known optimum, or 0."""

    name: str
    group: str
    items: tuple[tuple[int, int], ...]
    stock: tuple[int, int]
    fewest: int
    seconds: float
    seed: int
    plain: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Result:
    """A line of the file. `memory`: peak of the process in MiB; `faults`: what the verifier found."""

    name: str
    group: str
    items: int
    value: int
    bound: int
    proven: bool
    stopped: str
    seconds: float
    memory: int
    faults: tuple[str, ...]
    fewest: int
    hand: int
    plain: int | None
    plain_bound: int
    plain_seconds: float
    version: str
    limit: float
    seed: int
    day: str


def solve(task: Task) -> Result:
    """Pack one instance and both comparisons; in a process of its own, so that the memory is its own."""
    lengths = task.stock[1] == 1
    items: list[int | Sequence[int]] = [wide for wide, _ in task.items] if lengths else list(task.items)
    stock = task.stock[0] if lengths else task.stock
    start = time.perf_counter()
    answer = pack(items, stock, seconds=task.seconds, seed=task.seed)
    seconds = time.perf_counter() - start
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    hand = len(shelved(read_order(items, stock, 0, 0), first_fit=True))
    plain = plain_model(task.items, task.stock, hand, task.seconds) if task.plain else None
    return Result(
        name=task.name,
        group=task.group,
        items=len(items),
        value=len(answer.sheets),
        bound=answer.lower_bound,
        proven=answer.proven,
        stopped=answer.stopped,
        seconds=round(seconds, 2),
        memory=memory,
        faults=tuple(faults(task.items, task.stock, answer)),
        fewest=task.fewest,
        hand=hand,
        plain=plain.value if plain else None,
        plain_bound=plain.bound if plain else 0,
        plain_seconds=round(plain.seconds, 2) if plain else 0.0,
        version=cutopt.__version__,
        limit=task.seconds,
        seed=task.seed,
        day=date.today().isoformat(),
    )


def tasks_of_sheets(instances: Iterable[Sheets], seconds: float, seed: int, plain: bool) -> list[Task]:
    return [
        Task(
            name=one.name,
            group=f"{one.kind}/{len(one.items)}",
            items=one.items,
            stock=one.stock,
            fewest=0,
            seconds=seconds,
            seed=seed,
            plain=plain,
        )
        for one in instances
    ]


def tasks_of_lengths(instances: Iterable[Lengths], seconds: float, seed: int, plain: bool) -> list[Task]:
    """Those of the folder in groups by the letters and numbers of their names, then the textbook problems."""
    known = [(one.name.rsplit("_", 1)[0], one.name, one.stock, one.items, one.fewest) for one in instances]
    known += [("textbook", one.name, one.stock, tuple(one.items), one.fewest) for one in TEXTBOOK]
    return [
        Task(
            name=name,
            group=group,
            items=tuple((length, 1) for length in items),
            stock=(stock, 1),
            fewest=fewest,
            seconds=seconds,
            seed=seed,
            plain=plain,
        )
        for group, name, stock, items, fewest in known
    ]


def run(tasks: Sequence[Task], out: Path, jobs: int) -> list[Result]:
    """Results of all tasks, those already in the file included; each new one is written when it is there."""
    done = {result.name: result for result in read(out)}
    old = [one for one in done.values() for task in tasks if task.name == one.name and not _same(task, one)]
    if old:
        sys.exit(f"{out} has results of another version, limit or seed: name another file")
    left = [task for task in tasks if task.name not in done]
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(jobs, mp_context=context, max_tasks_per_child=1) as pool, out.open("a") as file:
        for future in as_completed([pool.submit(solve, task) for task in left]):
            result = future.result()
            done[result.name] = result
            file.write(json.dumps(asdict(result)) + "\n")
            file.flush()
    return [done[task.name] for task in tasks]


def _same(task: Task, result: Result) -> bool:
    return (result.version, result.limit, result.seed) == (cutopt.__version__, task.seconds, task.seed)


def read(out: Path) -> Iterator[Result]:
    """The results in a file; a last line cut short by a crash is left out."""
    for line in out.read_text().splitlines() if out.exists() else []:
        try:
            fields = json.loads(line)
        except json.JSONDecodeError:
            continue
        fields["faults"] = tuple(fields["faults"])
        yield Result(**fields)


def table(results: Sequence[Result]) -> str:
    """A row for each group and one for all. Published sums stand where all ten instances of a group are there."""
    lines = [
        "| group | inst. | value | our bound | published bound | best known | gap | proven | s median | s most | MiB "
        "| hand rules | CP-SAT | its proven |",
        "|---|" + "---:|" * 13,
    ]
    groups: dict[str, list[Result]] = {}
    for result in results:
        groups.setdefault(result.group, []).append(result)
    lines += [_row(group, members) for group, members in groups.items()]
    lines.append(_row("all", results))
    wrong = [f"{result.name}: {fault}" for result in results for fault in result.faults]
    lines += ["", f"Verified by code of its own: {'every packing' if not wrong else ''}{'; '.join(wrong)}"]
    return "\n".join(lines)


def _row(group: str, members: Sequence[Result]) -> str:
    value, bound = sum(one.value for one in members), sum(one.bound for one in members)
    low, best = _known(members)
    solved = [one for one in members if one.plain is not None]
    plain = f"{sum(one.plain or 0 for one in solved)} ({len(solved)} of {len(members)} found)" if solved else "–"
    tight = sum(one.plain == one.plain_bound for one in solved)
    times = [one.seconds for one in members]
    cells = [
        len(members),
        value,
        bound,
        low,
        best,
        f"{(value - bound) / value:.2%}",
        sum(one.proven for one in members),
        f"{statistics.median(times):.2f}",
        f"{max(times):.1f}",
        max(one.memory for one in members),
        sum(one.hand for one in members),
        plain,
        tight if solved else "–",
    ]
    return f"| {group} | " + " | ".join(map(str, cells)) + " |"


def _known(members: Sequence[Result]) -> tuple[str, str]:
    """Published bound and best known value of these instances, where they are known."""
    if all(one.fewest for one in members):
        fewest = str(sum(one.fewest for one in members))
        return fewest, fewest
    groups: dict[str, int] = {}
    for one in members:
        groups[one.group] = groups.get(one.group, 0) + 1
    if any(count != 10 for count in groups.values()):
        return "–", "–"
    known = [published(*map(int, group.split("/"))) for group in groups]
    return str(sum(k.bound for k in known)), str(sum(k.best for k in known))


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.packing")
    parser.add_argument("what", choices=["two", "one"])
    source = parser.add_mutually_exclusive_group(required=True)
    source.add_argument("--instances", type=Path, help="folder with the instances")
    source.add_argument("--download", action="store_true", help="take the two-dimensional ones from the registry")
    parser.add_argument("--cache", type=Path, default=Path.home() / ".cache" / "cutopt-benchmarks")
    parser.add_argument("--stride", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--no-plain", action="store_true", help="leave out the plain CP-SAT model")
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args(arguments)
    if given.what == "one" and given.download:
        parser.error("the one-dimensional instances come from a folder: --instances")
    if given.what == "two":
        sheets = downloaded(given.cache) if given.download else sheets_of_folder(given.instances)
        tasks = tasks_of_sheets(sheets[:: given.stride], given.seconds, given.seed, not given.no_plain)
    else:
        bars = lengths_of_folder(given.instances)[:: given.stride]
        tasks = tasks_of_lengths(bars, given.seconds, given.seed, not given.no_plain)
    results = run(tasks, given.out, given.jobs)
    head = (
        f"cutopt {cutopt.__version__}, {date.today()}, seed {given.seed}, limit {given.seconds:g} s, "
        f"stride {given.stride}, {given.jobs} at a time"
    )
    sys.stdout.write(f"{head}\n{table(results)}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
