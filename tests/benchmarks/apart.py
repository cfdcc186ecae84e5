"""Work done in processes of their own: each with its own memory and a limit on the wall, its result kept on a line.

Results are frozen records in files of JSON lines. A run that is started again goes on where it stopped.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import resource
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import asdict, fields
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Protocol, TypeVar


class Task(Protocol):
    """Something to measure. `label` tells it from all others of a run."""

    @property
    def label(self) -> str: ...


T = TypeVar("T")
L = TypeVar("L", bound=Task)
R = TypeVar("R")


def peak() -> int:
    """Peak memory of this process, MiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def worked() -> float:
    """Processor seconds of this process, and of the processes that it made and that have ended."""
    return sum(os.times()[:4])


def apart(work: Callable[[T], R], task: T, limit: float) -> R | str:
    """What `work` gives in a process of its own, or the reason why it gives nothing.

    `limit`: seconds on the wall from its start; then the process is ended.
    """
    answer, why = in_turns(partial(_once, work), task, [limit])
    return why if answer is None else answer


def _once(work: Callable[[T], R], task: T) -> Iterator[R]:
    yield work(task)


def in_turns(work: Callable[[T], Iterator[R]], task: T, limits: Sequence[float]) -> tuple[R | None, str]:
    """The last that `work` yields in a process of its own, or None; and the reason why no more came, or nothing.

    `limits`: seconds on the wall for each; then the process is ended.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=_answer, args=(theirs, work, task))
    process.start()
    theirs.close()
    last: R | None = None
    try:
        for limit in limits:
            if not ours.poll(limit):
                return last, f"stopped after {limit:g} s"
            kind, answer = ours.recv()
            if kind != "result":
                return last, answer
            last = answer
        return last, ""
    except EOFError:
        process.join()
        return last, f"ended with code {process.exitcode}"
    finally:
        process.kill()
        process.join()


def _answer(theirs: Connection, work: Callable[[T], Iterator[R]], task: T) -> None:
    try:
        for result in work(task):
            theirs.send(("result", result))
        theirs.send(("end", ""))
    except Exception as error:  # a crash is a result, and the run goes on
        theirs.send(("crash", f"{type(error).__name__}: {error}"))


def kept(tasks: Sequence[L], measure: Callable[[L], R], kind: type[R], out: Path, jobs: int) -> list[R]:
    """The results of all tasks, those in the file included; each new one is written as soon as it is there.

    `measure` is called in a thread of its own. The records have a field `label`, which names version, seed and limits
    too: results made with others are not taken for those of this run.
    """
    done: dict[str, R] = dict(read(out, kind))
    left = [task for task in tasks if task.label not in done]
    with ThreadPoolExecutor(jobs) as pool, out.open("a", encoding="utf-8") as file:
        waiting = {pool.submit(measure, task): task for task in left}
        for future in as_completed(waiting):
            result = future.result()
            done[waiting[future].label] = result
            file.write(json.dumps(asdict(result)) + "\n")  # type: ignore[call-overload]
            file.flush()
            sys.stderr.write(f"{waiting[future].label}\n")
    return [done[task.label] for task in tasks]


def read(out: Path, kind: type[R]) -> Iterator[tuple[str, R]]:
    """The results in a file with their labels; lines cut short by a crash or with other fields are left out."""
    for line in out.read_text(encoding="utf-8").splitlines() if out.exists() else []:
        try:
            given: dict[str, Any] = json.loads(line)
        except json.JSONDecodeError:
            continue
        if {one.name for one in fields(kind)} != set(given):  # type: ignore[arg-type]
            continue
        values = {name: _frozen(value) for name, value in given.items()}
        yield values["label"], kind(**values)


def _frozen(value: object) -> Any:
    return tuple(map(_frozen, value)) if isinstance(value, list) else value
