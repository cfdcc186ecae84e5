"""`cutopt compare`: what it prints, what it writes, and how it ends."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

import pytest

from cutopt.commands import main
from cutopt.comparing.choices import GRIDS, PATTERNS
from cutopt.comparing.records import Comparison, comparison_schema
from cutopt.comparing.running import Report, Run, Task, run
from cutopt.planfile import load
from cutopt.planfile.ticks import digest
from cutopt.shipped import shared_text
from tests.commands.test_public_face import loaded_after
from tests.jobs import TOP, area_text

FILES = ("plan.json", "cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
QUICK = ("--strategy", "one-for-one,factory-edge", "--pattern", "straight", "--grid", "full-first,centred")
RunIt = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run_it(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> RunIt:
    """Run the command line in this process, one choice after the other: exit code, stdout, stderr."""

    def running(*arguments: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr("cutopt.comparecommand.processes", lambda: 1)
        monkeypatch.setattr(sys, "argv", ["cutopt", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:
            main()
        said = capsys.readouterr()
        assert isinstance(end.value.code, int)
        return end.value.code, said.out, said.err

    return running


def job_text(*, strategy: str = "factory-edge", pattern: str = "straight", grid: str = '"full-first"') -> str:
    return (
        f'format = "cutopt-job"\nversion = 1\n[job]\nname = "Back [bold]yard[/bold]"\n[tile]\nuse = "hardwood-600"\n'
        f'[lay]\npattern = "{pattern}"\ngrid = {grid}\n[cut]\nstrategy = "{strategy}"\nseconds = 2\n'
        f"[money]\ntile = 74.0\nhour = 48.0\n{area_text([(0, 0), (2000, 0), (1995, 1500), (0, 1500)])}"
    )


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A room of 2 x 1.5 m, factory-edge, straight, full-first."""
    path = tmp_path / "yard.toml"
    path.write_text(job_text(), encoding="utf-8")
    return path


@pytest.fixture
def tight(tmp_path: Path) -> Path:
    """A square of 140 mm whose own grid start leaves strips of less than 75 mm: nothing can be laid there."""
    path = tmp_path / "tight.toml"
    head = '[tile]\nuse = "hardwood-600"\n[lay]\ngrid = {x = "65 mm", y = "65 mm"}\n'
    corners = area_text([(0, 0), (140, 0), (140, 140), (0, 140)])
    path.write_text(f'format = "cutopt-job"\nversion = 1\n{head}{corners}', encoding="utf-8")
    return path


def test_the_table(run_it: RunIt, job: Path) -> None:
    ended, out, err = run_it("compare", job, *QUICK)
    assert (ended, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Back [bold]yard[/bold]"
    assert lines[1].startswith("4 choices, ")
    assert {"one-for-one, straight", "factory-edge, straight"} <= set(lines)
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("* ") for line in lines)


def test_json_is_the_same_twice_and_as_its_schema_says(run_it: RunIt, job: Path) -> None:
    ended, out, err = run_it("compare", job, *QUICK, "--json", "--seed", "7")
    assert (ended, err) == (0, "")
    said = Comparison.model_validate_json(out)
    assert json.loads(out) == said.model_dump(mode="json")  # no key more, no key less
    assert (said.seed, said.interrupted, said.files) == (7, False, ())
    (one,) = said.jobs
    assert len(one.choices) == 4
    for line in one.choices:
        assert line.figures is not None
        assert line.unbeaten == (line.beaten_by == ())
        assert (line.words == "") == (line.name == one.best)
        assert line.figures.tiles == line.figures.whole + line.figures.cut
    assert run_it("compare", job, *QUICK, "--json", "--seed", "7") == (0, out, "")


def test_the_published_schema_is_the_codes() -> None:
    published = json.loads(shared_text("comparison.schema.json"))
    assert published == comparison_schema(), "DEVELOPERS.md says how to write it anew"
    # the dialect's name as JSON Schema draft 2020-12, core, section 8.1.1 gives it
    assert published["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert set(published["required"]) == set(Comparison.model_fields)


def test_the_pick_is_the_plan_of_that_job(run_it: RunIt, job: Path, tmp_path: Path) -> None:
    """The job's own choice, byte for byte; and another one, but for the hash of the job file that asks for it."""
    own, other = "factory-edge/straight/full-first", "one-for-one/alternate/centred"
    for name, folder in ((own, "own"), (other, "other")):
        strategy, pattern, grid = name.split("/")
        limited = ("--strategy", strategy, "--pattern", pattern, "--grid", grid)
        ended, out, err = run_it("compare", job, *limited, "--pick", name, "--out", tmp_path / folder, "--seed", "3")
        assert (ended, err) == (0, "")
        assert out.endswith("".join(f"  {tmp_path / folder / file}\n" for file in FILES))
    asking = tmp_path / "asking.toml"
    asking.write_text(job_text(strategy="one-for-one", pattern="alternate", grid='"centred"'), encoding="utf-8")
    for path, folder in ((job, "own"), (asking, "other")):
        assert run_it("plan", path, "--out", tmp_path / "planned", "--seed", "3", "--quiet")[0] == 0
        picked, planned = plan_files(tmp_path / folder), plan_files(tmp_path / "planned")
        if path == asking:
            for was, now in zip(names_of(tmp_path / folder), names_of(tmp_path / "planned"), strict=True):
                picked = {name: text.replace(was, now) for name, text in picked.items()}
        assert picked == planned


def names_of(folder: Path) -> tuple[bytes, bytes]:
    """What a plan is known by: the hash of its job file, and its own."""
    made = load(folder / "plan.json")
    return made.job.sha256.encode(), digest(made).encode()


def plan_files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_pick_as_json_names_its_files(run_it: RunIt, job: Path, tmp_path: Path) -> None:
    pick = ("--pick", "one-for-one/straight/full-first", "--out", tmp_path / "out")
    ended, out, err = run_it("compare", job, *QUICK, *pick, "--json", "--quiet")
    assert (ended, err) == (0, "")
    assert json.loads(out)["files"] == [str(tmp_path / "out" / name) for name in FILES]


def test_quiet(run_it: RunIt, job: Path, tmp_path: Path) -> None:
    limited = ("--strategy", "one-for-one", "--pattern", "straight", "--grid", "full-first")
    assert run_it("compare", job, *limited, "--quiet") == (0, "", "")
    pick = ("--pick", "one-for-one/straight/full-first", "--out", tmp_path / "out")
    assert run_it("compare", job, *limited, "--quiet", *pick) == (0, "", "")
    assert {path.name for path in (tmp_path / "out").iterdir()} == set(FILES)


def test_a_table_for_each_job(run_it: RunIt, job: Path, tight: Path) -> None:
    limited = ("--strategy", "one-for-one", "--pattern", "straight", "--grid", "as-given", "--grid", "full-first")
    ended, out, err = run_it("compare", job, tight, *limited)
    assert (ended, err) == (0, "")
    first, second = out.split("\n\ntight\n")
    assert "Not offered: as-given: the job gives no place of its own" in first
    assert "No plan: one-for-one/straight/as-given: nothing can be laid" in " ".join(second.split())


def test_no_plan_at_all(run_it: RunIt, job: Path, tight: Path, tmp_path: Path) -> None:
    limited = ("--strategy", "one-for-one", "--pattern", "straight")
    ended, out, err = run_it("compare", job, tight, *limited, "--grid", "as-given,centred")
    assert ended == 3
    assert "1 choice, 1 unbeaten (*)" in out
    assert "rule thinnest_strip" in err
    assert len(err.splitlines()) == 1
    pick = ("--pick", "one-for-one/straight/as-given", "--out", tmp_path / "out")
    ended, out, err = run_it("compare", tight, *limited, "--grid", "as-given,full-first", *pick)
    assert ended == 3
    assert "2 choices, 1 planned" in out
    assert err.startswith("one-for-one/straight/as-given: nothing can be laid")
    assert not (tmp_path / "out").exists()


def interrupted_after(most: int) -> Callable[..., Run]:
    """`run`, but Ctrl-C is pressed when so many choices are done."""

    def running(tasks: Sequence[Task], *, at_once: int, report: Report | None) -> Run:
        def stop(done: int, _: object) -> None:
            if done == most:
                raise KeyboardInterrupt

        return run(tasks, at_once=at_once, report=stop)

    return running


def test_ctrl_c_keeps_what_is_done(run_it: RunIt, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cutopt.comparecommand.run", interrupted_after(2))
    ended, out, err = run_it("compare", job, *QUICK)
    assert (ended, err) == (130, "")
    assert "4 choices, 2 planned" in out
    assert "Not finished: " in out
    assert out.endswith("Stopped: only what was finished by then is compared.\n")
    ended, out, err = run_it("compare", job, *QUICK, "--json")
    assert (ended, err) == (130, "")
    said = Comparison.model_validate_json(out)
    assert said.interrupted
    assert [line.state for line in said.jobs[0].choices] == ["planned", "planned", "not finished", "not finished"]

    done, left = "one-for-one/straight/centred", "factory-edge/straight/centred"
    ended, out, err = run_it("compare", job, *QUICK, "--pick", left, "--out", tmp_path / "left")
    assert (ended, err) == (130, f"{left}: stopped before it was planned; nothing was written\n")
    assert not (tmp_path / "left").exists()
    ended, out, err = run_it("compare", job, *QUICK, "--pick", done, "--out", tmp_path / "done")
    assert (ended, err) == (130, "")
    assert {path.name for path in (tmp_path / "done").iterdir()} == set(FILES)


def test_a_fault_of_our_own_comes_after_the_table(run_it: RunIt, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def faulty(*_: object, **__: object) -> NoReturn:
        raise RuntimeError("two pieces overlap")

    monkeypatch.setattr("cutopt.planning.plan", faulty)
    ended, out, err = run_it("compare", job, *QUICK)
    assert ended == 70
    assert "Fault: one-for-one/straight/full-first" in out
    assert "two pieces overlap" in err
    assert "report" in err
    assert len(err.splitlines()) <= 4


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--strategy", "anywhre"], "--strategy = "),
        (["--pattern", "chequered"], "straight, alternate, two-and-one"),
        (["--grid", "best,centerd"], "did you mean 'centred'?"),
        (["--grid", ""], "--grid = "),
        (["--grid", "as-given"], "the job gives no place of its own"),
        (["--pick", "factory-edge/straight/best"], "--out"),
        (["--out", "x"], "--pick"),
        (["--pick", "factory-edge/straigt/best", "--out", "x"], "did you mean 'factory-edge/straight/best'?"),
        (["--pick", "oak", "--out", "x"], "not among the choices"),
        (["--pick", "factory-edge/straight/best", "--out", "x", "--grid", "centred"], "not among the choices"),
        (["--seconds", "0"], "--seconds"),
        (["no.toml"], "no such file"),
    ],
)
def test_a_wrong_command_line(run_it: RunIt, job: Path, arguments: list[str], words: str) -> None:
    ended, out, err = run_it("compare", job, *arguments)
    assert (ended, out) == (2, "")
    assert words in err
    assert "Traceback" not in err
    assert not Path("x").exists()


def test_mistakes_come_together(run_it: RunIt, job: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"mine")
    pick = ("--pick", "factory-edge/straight/best", "--out", tmp_path / "out")
    ended, _, err = run_it("compare", job, tmp_path / "no.toml", *pick, "--grid", "bst")
    assert ended == 2
    lines = err.splitlines()
    for start in ("--grid = ", "--pick = ", "--out = ", str(tmp_path / "no.toml")):
        assert sum(line.startswith(start) for line in lines) == 1, start


def test_a_folder_that_fails_late_does_not_cost_the_table(
    run_it: RunIt, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cutopt.comparecommand.folder_mistakes", lambda folder, names: ())
    (tmp_path / "out").write_bytes(b"mine")
    pick = ("--pick", "one-for-one/straight/full-first", "--out", tmp_path / "out")
    ended, out, err = run_it("compare", job, *QUICK, *pick)
    assert ended == 2
    assert "unbeaten" in out
    assert err.startswith("--out = ")
    assert (tmp_path / "out").read_bytes() == b"mine"


def test_the_help_names_the_words_that_can_be_given() -> None:
    said = " ".join((TOP / "fixtures" / "help" / "compare.txt").read_text(encoding="utf-8").split())
    assert f"({', '.join(PATTERNS)})" in said
    assert f"({', '.join(GRIDS)})" in said


def test_its_help_is_quick() -> None:
    code = (
        "import sys\nsys.argv = ['cutopt', 'compare', '--help']\nfrom cutopt.commands import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert end.code == 0, end.code"
    )
    assert loaded_after(code) == set()
