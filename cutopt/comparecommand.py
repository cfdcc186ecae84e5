"""`cutopt compare`: reads the jobs, has their choices planned side by side, prints the tables and writes the pick."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from cutopt.aside import processes
from cutopt.comparing.choices import Limits, Menu, limit_mistakes, menu
from cutopt.comparing.judging import judged
from cutopt.comparing.records import Comparison
from cutopt.comparing.running import Run, Task, run
from cutopt.errors import BadInput, Mistake, NoPlan, OurFault
from cutopt.job import Job, load_job
from cutopt.progress import bar
from cutopt.wording import nearest, shown
from cutopt.writing import folder_mistakes, write_all

if TYPE_CHECKING:
    from cutopt.planfile import Plan

INTERRUPTED = 130  # what a program that Ctrl-C ends says to the shell


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """What the options of `compare` say. `pick` is the name of a choice, written into `out`."""

    jobs: tuple[Path, ...]
    limits: Limits
    pick: str | None
    out: Path | None
    quiet: bool
    as_json: bool
    seconds: float | None
    seed: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Files:
    """The files of a plan: their names, and how they are made."""

    names: tuple[str, ...]
    made: Callable[[Plan], Mapping[str, bytes]]


def compare(asked: Asked, files: Files) -> int:
    """Compare, print and write; return the exit code.

    Raises `BadInput` with all mistakes of jobs and options, `NoPlan` where a job or the pick has no plan, and
    `OurFault` where planning a choice failed; the latter two once everything else is printed.
    """
    jobs = _read(asked, files.names)
    menus = [menu(job, asked.limits) for job in jobs]
    _refuse(asked, menus)
    tasks = [
        Task(job=job, choice=choice, seconds=asked.seconds, seed=asked.seed, keep=choice.name == asked.pick)
        for job, listed in zip(jobs, menus, strict=True)
        for choice in listed.choices
    ]
    with bar(wanted=not (asked.quiet or asked.as_json), label="comparing") as move:
        report = None if move is None else lambda done, ended: move(done, len(tasks), ended.outcome.choice.name)
        found = run(tasks, at_once=processes(), report=report)
    written, refused = _write(asked, files, found)
    comparison = _compared(asked, jobs, menus, found, written)
    if asked.as_json:
        print(json.dumps(comparison.model_dump(mode="json"), indent=1))
    elif not asked.quiet:
        _print(comparison, written)
    if refused is not None:
        raise refused
    return _ended(asked, comparison)


def limits(strategies: Sequence[str], patterns: Sequence[str], grids: Sequence[str]) -> Limits:
    """Limits from the values of options, each of which may hold several words with commas between them."""
    return Limits(strategies=_words(strategies), patterns=_words(patterns), grids=_words(grids))


def _words(values: Sequence[str]) -> tuple[str, ...]:
    return tuple(word.strip() for value in values for word in value.split(","))


def _read(asked: Asked, names: tuple[str, ...]) -> list[Job]:
    """The jobs; the mistakes of all of them, of the options and of the folder come together."""
    mistakes = [*limit_mistakes(asked.limits), *_pick_mistakes(asked)]
    if asked.out is not None:
        mistakes += folder_mistakes(asked.out, names)
    jobs = []
    for path in asked.jobs:
        try:
            jobs.append(load_job(path))
        except BadInput as error:
            mistakes += error.mistakes
    if mistakes:
        raise BadInput(mistakes)
    return jobs


def _pick_mistakes(asked: Asked) -> Iterator[Mistake]:
    if asked.pick is None and asked.out is not None:
        yield _mistake("--out", str(asked.out), "is where the picked choice is written", "add --pick NAME")
    if asked.pick is not None and asked.out is None:
        yield _mistake("--pick", asked.pick, "needs a folder for the files", "add --out DIR")
    if asked.pick is not None and len(asked.jobs) > 1:
        yield _mistake("--pick", asked.pick, "is a choice of one job", "name one job")


def _refuse(asked: Asked, menus: Sequence[Menu]) -> None:
    """Raise `BadInput` where a job has no choices, or not the one that is picked."""
    mistakes = []
    for path, listed in zip(asked.jobs, menus, strict=True):
        names = [choice.name for choice in listed.choices]
        if not names:
            why = "; ".join(f"{word}: {reason}" for word, reason in listed.not_offered)
            mistakes.append(Mistake(file=str(path), key="", value="", rule=why, remedy="allow other choices"))
        elif asked.pick is not None and asked.pick not in names:
            remedy = nearest(asked.pick, names) or f"write it like {names[0]}"
            mistakes.append(_mistake("--pick", asked.pick, "is not among the choices that are compared", remedy))
    if mistakes:
        raise BadInput(mistakes)


def _mistake(option: str, value: str, rule: str, remedy: str) -> Mistake:
    return Mistake(file=option, key="", value=shown(value), rule=rule, remedy=remedy)


def _write(asked: Asked, files: Files, found: Run) -> tuple[tuple[Path, ...], BadInput | None]:
    """Write the picked plan, where there is one; a folder that cannot take it does not cost the tables."""
    picked = next((ended.plan for ended in found.ended if ended.plan is not None), None)
    if picked is None or asked.out is None:
        return (), None
    try:
        return write_all(asked.out, files.made(picked)), None
    except BadInput as error:
        return (), error


def _compared(
    asked: Asked, jobs: Sequence[Job], menus: Sequence[Menu], found: Run, written: Sequence[Path]
) -> Comparison:
    outcomes = iter([ended.outcome for ended in found.ended])
    return Comparison(
        seed=asked.seed,
        interrupted=found.interrupted,
        jobs=tuple(
            judged(job, listed, [next(outcomes) for _ in listed.choices])
            for job, listed in zip(jobs, menus, strict=True)
        ),
        files=tuple(str(path) for path in written),
    )


def _print(comparison: Comparison, written: Sequence[Path]) -> None:
    from rich.console import Console

    from cutopt.comparing.table import told
    from cutopt.planfile.reading import escaped

    console = Console(highlight=False)
    for number, one in enumerate(comparison.jobs):
        if number:
            print()
        console.print(told(one), soft_wrap=True)
    if comparison.interrupted:
        print("\nStopped: only what was finished by then is compared.")
    if written:
        print("\nFiles:")
        for path in written:
            print(f"  {escaped(str(path))}")


def _ended(asked: Asked, comparison: Comparison) -> int:
    """The exit code; what keeps a plan from being there goes to stderr."""
    lines = [line for one in comparison.jobs for line in one.choices]
    pick = next((line for line in lines if line.name == asked.pick), None)
    if comparison.interrupted:
        if pick is not None and not comparison.files:
            print(f"{pick.name}: {pick.reason}; nothing was written", file=sys.stderr)
        return INTERRUPTED
    for line in lines:
        if line.state == "fault":
            raise OurFault(f"{line.name}: {line.reason}")
    if pick is not None and pick.figures is None:
        print(f"{pick.name}: {pick.reason}", file=sys.stderr)
        return NoPlan.exit_code
    unplanned = [one for one in comparison.jobs if one.best is None]
    for one in unplanned:
        print(f"{one.job}: no choice has a plan; {one.choices[0].reason}", file=sys.stderr)
    return NoPlan.exit_code if unplanned else 0
