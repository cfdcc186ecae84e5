"""Ctrl-C while libraries are loaded waits until they are; the command then ends as ever.

Each case is a process of its own, since other threads of the one that runs tests would take the signal.
"""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.jobs import TOP

pytestmark = pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="Ctrl-C cannot be put off here")


def run(text: str) -> subprocess.CompletedProcess[str]:
    order = [sys.executable, "-c", text]
    return subprocess.run(order, cwd=TOP, capture_output=True, text=True, timeout=60, check=False)


def test_it_comes_at_the_end_of_the_block() -> None:
    done = run(
        "import os, signal\n"
        "from cutopt.interrupts import put_off\n"
        "try:\n"
        "    with put_off():\n"
        "        os.kill(os.getpid(), signal.SIGINT)\n"
        "        print('went on')\n"
        "    print('too late')\n"
        "except KeyboardInterrupt:\n"
        "    print('then stopped')\n"
    )
    assert (done.stdout, done.stderr) == ("went on\nthen stopped\n", "")


@pytest.mark.parametrize("library", ["numpy", "shapely.lib", "ortools.linear_solver.python.model_builder_helper"])
def test_a_command_that_is_interrupted_while_it_loads_says_nothing(library: str, tmp_path: Path) -> None:
    done = run(
        "import os, signal, sys\n"
        "class Finder:\n"
        "    def find_spec(self, name, *_):\n"
        f"        if name == {library!r}:\n"
        "            os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Finder())\n"
        f"sys.argv = ['cutopt', 'demo', '--out', {str(tmp_path / 'made')!r}]\n"
        "from cutopt.commands import main\n"
        "main()\n"
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")
    assert not list(tmp_path.rglob("*.*"))


@pytest.mark.skipif(sys.platform != "linux", reason="processes are not copied here")
def test_a_long_search_of_the_solver_is_ended_at_once() -> None:
    """A covering of 300 rows by 220 columns, which takes minutes to prove."""
    done = run(
        "import os, random, signal, time\n"
        "from cutopt.cut import programme\n"
        "programme.LARGE, dice, hard = 0, random.Random(1), programme.Programme()\n"
        "costs = [dice.uniform(1, 1.5) for _ in range(220)]\n"
        "columns = [hard.variable(1) for _ in costs]\n"
        "for _ in range(300):\n"
        "    hard.row(1, 9, [(column, 1) for column in dice.sample(columns, 9)])\n"
        "if not os.fork():\n"
        "    time.sleep(1)\n"
        "    os.kill(os.getppid(), signal.SIGINT)\n"
        "    os._exit(0)\n"
        "try:\n"
        "    hard.least(costs, nodes=10**9, gap=0, hint=None)\n"
        "except KeyboardInterrupt:\n"
        "    print('stopped')\n"
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "stopped\n", "")
