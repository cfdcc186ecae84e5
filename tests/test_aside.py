"""Work done aside comes to the same as work done here, whatever becomes of the copies.

Other threads keep a process from being copied, and those that run tests have some: each case is a process of its own.
"""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from cutopt.aside import Begun, beside, never, processes, shared
from tests.jobs import TOP

FORKS = pytest.mark.skipif(processes() < 2 or sys.platform != "linux", reason="no process can be beside another")
HERE = os.getpid()


def squares(numbers: Sequence[int]) -> list[int]:
    return [n * n for n in numbers]


def said(case: str) -> str:
    """What a function of this module prints in a process of its own, which ends well and says nothing else."""
    order = [sys.executable, "-W", "error", "-c", f"from tests.test_aside import {case}; {case}()"]
    done = subprocess.run(order, cwd=TOP, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def tell(*words: object) -> None:
    sys.stdout.write(" ".join(map(str, words)) + "\n")


def in_parts() -> None:
    numbers = list(range(101))
    assert shared(squares, numbers, least=10) == squares(numbers)
    tell(len({*shared(lambda some: [os.getpid() for _ in some], numbers, least=10)}))


def test_processors() -> None:
    assert 1 <= processes() <= 60


def test_as_if_by_one() -> None:
    assert shared(squares, range(7), least=2) == squares(range(7))
    assert shared(squares, [], least=0) == []


@FORKS
def test_many_are_done_by_several_processes_in_their_order() -> None:
    assert int(said("in_parts")) in range(2, 5)


def few() -> None:
    tell({*shared(lambda some: [os.getpid() for _ in some], range(19), least=10)} == {os.getpid()})


def test_few_are_done_here() -> None:
    assert said("few") == "True\n"


def lost() -> None:
    def work() -> str:
        if os.getpid() != HERE:
            os._exit(9)
        return "done here"

    tell(Begun(work).result())


def test_a_copy_that_dies_has_its_work_done_here() -> None:
    assert said("lost") == "done here\n"


def failing() -> None:
    def work() -> str:
        raise ValueError(f"in {'this process' if os.getpid() == HERE else 'a copy'}")

    try:
        Begun(work).result()
    except ValueError as error:
        tell(error)


def test_a_failure_is_met_here() -> None:
    assert said("failing") == "in this process\n"


def unsendable() -> None:
    tell(Begun(lambda: lambda: 7).result()())


def test_what_cannot_be_sent_is_worked_out_here() -> None:
    assert said("unsendable") == "7\n"


def called_off() -> None:
    began = time.perf_counter()
    endless = Begun(lambda: time.sleep(30))
    tell(beside())
    endless.stop()
    endless.stop()
    tell(beside(), time.perf_counter() - began < 10)


@FORKS
def test_what_is_called_off_is_ended_and_makes_room() -> None:
    with_two = str(processes() > 2)
    assert said("called_off").split() == [with_two, "True", "True"]


def within() -> None:
    tell(Begun(lambda: beside()).result())


@FORKS
def test_a_copy_makes_no_copies() -> None:
    assert said("within") == "False\n"


def interrupted() -> None:
    import signal

    def work() -> str:
        os.kill(os.getpid(), signal.SIGINT)
        return "went on"

    if beside():
        tell(Begun(work).result())


@FORKS
def test_ctrl_c_is_for_the_process_that_waits() -> None:
    assert said("interrupted") == "went on\n"


def orphaned() -> None:
    """Tell the copy's number and end as if killed, without a word to the copy."""
    Begun(lambda: bytes(1_000_000))
    (copy,) = multiprocessing.active_children()
    tell(copy.pid)
    sys.stdout.flush()
    os._exit(0)


@FORKS
def test_a_copy_ends_when_nobody_waits_any_more() -> None:
    copy, end = int(said("orphaned")), time.monotonic() + 30
    while runs(copy):
        assert time.monotonic() < end, "it waits for ever"
        time.sleep(0.05)


def runs(process: int) -> bool:
    """Whether a process is there that has not ended."""
    try:
        stat = Path(f"/proc/{process}/stat").read_text(encoding="ascii")
    except FileNotFoundError:
        return False
    return stat.rpartition(")")[2].split()[0] != "Z"


def stopped() -> None:
    def work(some: Sequence[int]) -> list[int]:
        if 0 in some:
            raise KeyboardInterrupt
        time.sleep(30)
        return [0 for _ in some]

    try:
        shared(work, range(100), least=10)
    except KeyboardInterrupt:
        tell(multiprocessing.active_children(), beside())


@FORKS
def test_what_is_interrupted_leaves_no_copies() -> None:
    assert said("stopped") == "[] True\n"


def forbidden() -> None:
    never()
    tell(beside())


def test_one_of_many_makes_no_copies() -> None:
    assert said("forbidden") == "False\n"
