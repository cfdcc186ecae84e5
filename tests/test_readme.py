"""What the README says is what the program does."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

import cutopt
from cutopt.commands import FILES
from cutopt.errors import BadInput, NoPlan, OurFault

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")
HELP = TOP / "fixtures" / "help"
COMMANDS = ("plan", "demo", "compare", "check", "show", "draw", "rules")


def blocks(language: str) -> list[str]:
    """The README's fenced blocks in a language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", README, flags=re.DOTALL | re.MULTILINE)


def run(arguments: Sequence[str], folder: Path) -> subprocess.CompletedProcess[str]:
    """Run `cutopt` of this checkout with the interpreter that runs the tests, at 80 columns."""
    environment = {**os.environ, "COLUMNS": "80", "PYTHONPATH": str(TOP)}
    command = [sys.executable, "-m", "cutopt", *arguments]
    return subprocess.run(command, capture_output=True, text=True, cwd=folder, env=environment, timeout=120)


def shape(text: str) -> list[str]:
    """The lines with every number as # and every run of blanks as one: what stays the same on another machine."""
    return [re.sub(r"\d+(\.\d+)?", "#", " ".join(line.split())) for line in text.strip().splitlines()]


def sh_lines() -> list[list[str]]:
    """Each ```sh block as its commands: split where one has to succeed before the next."""
    return [block.strip().split(" && ") for block in blocks("sh")]


def test_two_commands_that_set_themselves_up() -> None:
    demo, test = sh_lines()
    assert demo[0] == test[0] == "python3 -m venv .venv"
    assert demo[1] == ".venv/bin/pip install ."
    assert test[1] == ".venv/bin/pip install -e '.[test]'"  # -e: the tests see the checkout, not a copy
    assert test[2].startswith(".venv/bin/pytest")
    assert len(demo) == len(test) == 3


def test_ci_finds_the_test_command() -> None:
    assert [line for block in blocks("sh") for line in block.splitlines() if "pytest" in line] == [
        " && ".join(sh_lines()[1])
    ]


def test_demo_command_ends_as_printed(tmp_path: Path) -> None:
    program, *arguments = shlex.split(sh_lines()[0][2])
    assert program == ".venv/bin/cutopt"
    done = run(arguments, tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    written = {path.name for path in (tmp_path / "demo").iterdir()}
    assert written == set(FILES)
    (printed,) = blocks("text")
    assert shape(done.stdout) == shape(printed)
    for name in written:
        assert f"`{name}`" in README


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help_texts(command: str, tmp_path: Path) -> None:
    done = run([command, "--help"] if command else ["--help"], tmp_path)
    assert done.returncode == 0
    assert done.stdout == (HELP / f"{command or 'cutopt'}.txt").read_text(encoding="utf-8")
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_every_command_has_a_help_fixture_and_a_row() -> None:
    top = (HELP / "cutopt.txt").read_text(encoding="utf-8")
    listed = re.findall(r"^  (\w+)  ", top.split("Commands:")[1], flags=re.MULTILINE)
    assert tuple(listed) == COMMANDS
    assert {path.stem for path in HELP.iterdir()} == {"cutopt", *COMMANDS}
    assert tuple(re.findall(r"^\| `cutopt (\w+)", README, flags=re.MULTILINE)) == COMMANDS


def test_exit_codes_are_those_of_the_errors() -> None:
    rows = {int(code): text for code, text in re.findall(r"^\| (\d+) \| (.*) \|$", README, flags=re.MULTILINE)}
    assert sorted(rows) == [0, 1, 2, 3, 70, 130]
    assert "input is wrong" in rows[BadInput.exit_code]
    assert "no plan" in rows[NoPlan.exit_code]
    assert "fault of cutopt itself" in rows[OurFault.exit_code]


def test_job_example_and_python_example(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (toml,) = blocks("toml")
    (python,) = blocks("python")
    (tmp_path / "terrace.toml").write_text(toml, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    job = cutopt.load_job(Path("terrace.toml"))
    assert job.name == tomllib.loads(toml)["job"]["name"]
    done = subprocess.run(
        [sys.executable, "-c", python],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(TOP)},
        timeout=120,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert re.fullmatch(r"\d+ (True|False)\n", done.stdout)


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_links_lead_somewhere(page: str) -> None:
    targets = re.findall(r"\]\(([^)#]+)", (TOP / page).read_text(encoding="utf-8"))
    assert targets
    assert [target for target in targets if not (TOP / target).exists()] == []
