"""What the commands print, where, and the exit codes that they end with."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest
from pypdf import PdfReader

from cutopt.commands import main
from cutopt.errors import BadInput, Mistake, NoPlan, OurFault
from cutopt.shipped import shared_folder

FILES = ("plan.json", "cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command line in this process: exit code, stdout, stderr."""

    def run_it(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["cutopt", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        said = capsys.readouterr()
        assert isinstance(end.value.code, int)
        return end.value.code, said.out, said.err

    return run_it


def raising(error: BaseException) -> Callable[..., NoReturn]:
    def stand_in(*_: object, **__: object) -> NoReturn:
        raise error

    return stand_in


MISTAKES = (
    Mistake(file="a.toml", key="tile.width", value="-1", rule="a length is above 0", remedy="measure the tile"),
    Mistake(file="a.toml", key="area", value="", rule="there is at least one area", remedy="add an [[area]]"),
)


@pytest.mark.parametrize(
    ("error", "code", "lines"),
    [
        (BadInput(MISTAKES), 2, [str(mistake) for mistake in MISTAKES]),
        (
            NoPlan(what="the gap eats everything", rule="wall_gap", remedy="lower its least"),
            3,
            ["the gap eats everything; rule wall_gap; lower its least"],
        ),
        (KeyboardInterrupt(), 130, []),
    ],
)
def test_exit_codes(
    run: Run, monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int, lines: list[str]
) -> None:
    monkeypatch.setattr("cutopt.rules.rule_lines", raising(error))
    ended, out, err = run("rules")
    assert (ended, out, err.splitlines()) == (code, "", lines)


@pytest.mark.parametrize("error", [OurFault("two pieces overlap"), RuntimeError("two pieces overlap")])
def test_a_fault_of_our_own_says_how_to_report_it(run: Run, monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    monkeypatch.setattr("cutopt.rules.rule_lines", raising(error))
    ended, out, err = run("rules")
    assert (ended, out) == (70, "")
    assert "two pieces overlap" in err
    assert "report" in err
    assert "Traceback" not in err
    assert len(err.splitlines()) <= 4


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan"], "JOB"),
        (["plan", "a.toml"], "--out"),
        (["plan", "a.toml", "--out", "b", "--seconds", "nan"], "--seconds"),
        (["plan", "a.toml", "--out", "b", "--seconds", "inf"], "--seconds"),
        (["plan", "a.toml", "--out", "b", "--seconds", "0"], "--seconds"),
        (["plan", "a.toml", "--out", "b", "--seconds", "soon"], "--seconds"),
        (["plan", "a.toml", "--out", "b", "--paper", "a5"], "--paper"),
        (["demo", "--out", "b", "--seed", "-1"], "--seed"),
        (["demo", "--out", "b", "--seed", "1.5"], "--seed"),
        (["demo", "--out", "b", "--sead", "1"], "--sead"),
        (["check"], "PLAN"),
        (["rules", "--show", "cm"], "cm"),
        (["saw"], "saw"),
    ],
)
def test_a_wrong_command_line(run: Run, arguments: list[str], words: str) -> None:
    ended, out, err = run(*arguments)
    assert (ended, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


def test_rules_name_a_source_each(run: Run) -> None:
    ended, out, err = run("rules")
    assert (ended, err) == (0, "")
    lines = out.splitlines()
    assert "wall_gap: 6 to 12 mm" in lines
    assert "end_grain_angle: 10 degrees" in lines
    assert "breakage_least: 2" in lines
    assert "common practice, no source" in out
    assert max(map(len, lines)) <= 80
    _, in_inches, _ = run("rules", "--show", "in")
    assert in_inches != out


def test_rules_as_json(run: Run) -> None:
    ended, out, err = run("rules", "--json")
    assert (ended, err) == (0, "")
    rules = {rule["name"]: rule for rule in json.loads(out)["rules"]}
    assert set(rules["wall_gap"]) == {"name", "value", "unit", "text", "source"}
    # NDS Commentary Table C12.1.5.7 as shared/rules.toml quotes it: 2.5 diameters to an edge
    assert float(rules["screw_edge"]["value"]) == 2.5
    assert all(rule["source"] for rule in rules.values())


def test_mistakes_of_job_and_folder_come_together(run: Run, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("format = 'cutopt-job'\nversion = 1\nnails = 3\n", encoding="utf-8")
    (tmp_path / "demo").write_bytes(b"mine")
    ended, out, err = run("plan", tmp_path / "job.toml", "--out", tmp_path / "demo")
    assert (ended, out) == (2, "")
    assert any("nails" in line for line in err.splitlines())
    assert any(line.startswith("--out = ") for line in err.splitlines())
    assert (tmp_path / "demo").read_bytes() == b"mine"


@pytest.mark.parametrize("name", ["missing.toml", "folder"])
def test_a_job_that_cannot_be_read(run: Run, tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    ended, out, err = run("plan", tmp_path / name, "--out", tmp_path / "out")
    assert (ended, out, len(err.splitlines())) == (2, "", 1)
    assert name in err
    assert not (tmp_path / "out").exists()


def test_a_plan_that_is_none(run: Run, tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text('{"format": "cutopt-plan"}', encoding="utf-8")
    ended, out, err = run("check", tmp_path / "plan.json")
    assert (ended, out) == (2, "")
    assert all("plan.json" in line for line in err.splitlines())


def test_a_files_name_is_printed_as_it_is_but_for_signs_that_move_the_cursor(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Square brackets are a style to some printers, and a name may hold a terminal's own orders."""
    monkeypatch.setattr("cutopt.planfile.load", lambda path: path)
    monkeypatch.setattr("cutopt.checks.check", lambda plan: ())
    for name, printed in (("[red]deck[/red].json", "[red]deck[/red].json"), ("\x1b[2Jdeck.json", "\\x1b[2Jdeck.json")):
        assert run("check", tmp_path / name)[:2] == (0, f"{tmp_path}/{printed}: no faults found\n")


def test_demo_from_plan_to_check(run: Run, tmp_path: Path) -> None:
    ended, out, err = run("demo", "--out", tmp_path / "one", "--json")
    assert (ended, err) == (0, "")
    said = json.loads(out)
    assert said["files"] == [str(tmp_path / "one" / name) for name in FILES]
    assert said["totals"]["tiles"] == said["totals"]["whole"] + said["totals"]["cut"]
    assert said["proof"]["bound"] <= said["proof"]["value"]

    ended, out, err = run("check", tmp_path / "one" / "plan.json")
    assert (ended, err) == (0, "")
    assert out.endswith("no faults found\n")

    ended, out, err = run("plan", shared_folder() / "demo.toml", "--out", tmp_path / "two", "--quiet")
    assert (ended, out, err) == (0, "", "")
    for name in FILES:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()

    plan = json.loads((tmp_path / "one" / "plan.json").read_text(encoding="utf-8"))
    plan["totals"]["tiles"] += 1
    (tmp_path / "one" / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    ended, out, err = run("check", tmp_path / "one" / "plan.json", "--json")
    assert (ended, err) == (1, "")
    assert json.loads(out)["findings"]


def test_a_search_that_is_stopped_writes_nothing(run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("cutopt.planning.plan", raising(KeyboardInterrupt()))
    ended, out, _ = run("demo", "--out", tmp_path / "out")
    assert (ended, out) == (130, "")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("paper", "size"), [((), (210.0, 297.0)), (("--paper", "letter"), (215.9, 279.4))])
def test_the_pdf_is_laid_out_for_the_paper_asked_for(
    run: Run, tmp_path: Path, paper: tuple[str, ...], size: tuple[float, float]
) -> None:
    job = Path(__file__).parents[2] / "fixtures" / "jobs" / "own-tile.toml"
    ended, _, err = run("plan", job, "--out", tmp_path / "out", "--quiet", *paper)
    assert (ended, err) == (0, "")
    box = PdfReader(tmp_path / "out" / "cutbook.pdf").pages[0].mediabox
    assert [float(side) * 25.4 / 72 for side in (box.width, box.height)] == pytest.approx(size, abs=0.01)
