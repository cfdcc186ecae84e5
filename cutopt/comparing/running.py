"""Plan many choices at once, each in a process of its own kind, and keep what is done when it is stopped."""

from __future__ import annotations

import multiprocessing
import signal
import threading
import traceback
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from cutopt.aside import never
from cutopt.comparing.choices import Choice
from cutopt.comparing.judging import Outcome
from cutopt.comparing.records import figures_of
from cutopt.errors import NoPlan
from cutopt.job.records import Job
from cutopt.planfile import Plan

ENDED = "its process was ended from outside, as happens when memory runs out"


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """One choice of one job to be planned. `keep`: the plan itself is wanted, not its figures alone."""

    job: Job
    choice: Choice
    seconds: float | None
    seed: int
    keep: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Ended:
    """What became of a task."""

    outcome: Outcome
    plan: Plan | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """The tasks that ended, in the order of the tasks: those that did not are marked so."""

    ended: tuple[Ended, ...]
    interrupted: bool


Report = Callable[[int, Ended], None]  # how many are done, and the last of them
Found = Generator[tuple[int, Ended], None, None]  # the tasks' numbers and what became of them, as they end


def run(tasks: Sequence[Task], *, at_once: int, report: Report | None = None) -> Run:
    """Plan the tasks, so many at once. What they find does not depend on how many that are.

    Ctrl-C ends it: what is done by then is kept.
    """
    done: dict[int, Ended] = {}
    interrupted = False
    many = min(at_once, len(tasks))
    try:
        with closing(_in_parallel(tasks, many) if many > 1 else _in_turn(tasks)) as found:
            for number, ended in found:
                done[number] = ended
                if report is not None:
                    report(len(done), ended)
    except KeyboardInterrupt:
        interrupted = True
    ended_ones = (done.get(number) or _unfinished(task) for number, task in enumerate(tasks))
    return Run(ended=tuple(ended_ones), interrupted=interrupted)


def plan_task(task: Task) -> Ended:
    """Plan one choice. What goes wrong with it is part of what became of it, so that the others go on."""
    from cutopt.planning import plan  # slow to load, and needed only where a choice is planned

    try:
        made = plan(task.choice.applied(task.job), seconds=task.seconds, seed=task.seed)
    except NoPlan as error:
        return Ended(outcome=Outcome(choice=task.choice, state="no plan", reason=str(error)))
    except Exception as error:
        frame = traceback.extract_tb(error.__traceback__)[-1]
        where = f"in {Path(frame.filename).name}, line {frame.lineno}"
        return Ended(outcome=_fault(task, f"{type(error).__name__}: {error} {where}"))
    outcome = Outcome(choice=task.choice, state="planned", figures=figures_of(made))
    return Ended(outcome=outcome, plan=made if task.keep else None)


def one_of_many() -> None:
    """What a new process does first: Ctrl-C is for the one that started it, and all processors have enough to do."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    never()


def _in_turn(tasks: Sequence[Task]) -> Found:
    for number, task in enumerate(tasks):
        yield number, plan_task(task)


def _in_parallel(tasks: Sequence[Task], many: int) -> Found:
    """The tasks as they end. New processes are started anew, which every system can do."""
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(many, multiprocessing.get_context("spawn"), one_of_many)
    try:
        with _interrupts_ignored():  # by the new processes from their first moment on
            numbers = {pool.submit(plan_task, task): number for number, task in enumerate(tasks)}
        for future in as_completed(numbers):
            number = numbers[future]
            yield number, _found(future, tasks[number])
    except (GeneratorExit, KeyboardInterrupt):
        for child in set(multiprocessing.active_children()) - others:
            child.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _found(future: Future[Ended], task: Task) -> Ended:
    try:
        return future.result()
    except BrokenProcessPool:
        return Ended(outcome=_fault(task, ENDED))


@contextmanager
def _interrupts_ignored() -> Iterator[None]:
    if threading.current_thread() is not threading.main_thread():  # only the main thread may set signals
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _fault(task: Task, reason: str) -> Outcome:
    return Outcome(choice=task.choice, state="fault", reason=reason)


def _unfinished(task: Task) -> Ended:
    return Ended(outcome=Outcome(choice=task.choice, state="not finished", reason="stopped before it was planned"))
