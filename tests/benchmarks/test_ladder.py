"""The size ladder measures what it says: results are looked at here, times are not."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from tests.benchmarks.apart import read
from tests.benchmarks.ladder import BARS, STEPS, Result, Step, main, measure, run, table
from tests.benchmarks.ladder_sites import ALIKE, balconies_text, plaza_job, plaza_text
from tests.jobs import job_of, layout_of


def last(name: str) -> Result:
    """The figures of a step once all is done, worked out here."""
    *_, result = run(Step(name=name, seed=1))
    return result


def test_a_plazas_posts_and_walls_are_the_same_each_time() -> None:
    job = job_of(plaza_text(12, 60, 1))
    (area,) = job.areas
    assert len(area.posts) == 24
    assert plaza_text(12, 60, 1) == plaza_text(12, 60, 1) != plaza_text(12, 60, 2)
    left, low, right, top = (side for corner in (area.corners[0], area.corners[2]) for side in corner)
    for post in area.posts:
        assert all(left < x < right and low < y < top for x, y in post.outline)
    with pytest.raises(ValueError, match="8 posts find no room"):
        plaza_text(4, 60, 1)


def test_a_plaza_of_records_is_that_of_its_job_file() -> None:
    made, read_back = plaza_job(12, 1), job_of(plaza_text(12, 60, 1))
    assert made.areas == read_back.areas


@pytest.mark.parametrize("n", [10, 30])
def test_no_two_pieces_of_a_plaza_are_equal(n: int) -> None:
    layout = layout_of(job_of(plaza_text(n, 60, 1)))
    shapes = [piece.shape.outline for piece in layout.pieces]
    assert len(shapes) == len(set(shapes)) > 3 * n
    assert len(layout.cells) == n * n


def test_balconies_are_three_kinds_each_many_times() -> None:
    job = job_of(balconies_text("best", 10, 1))
    assert [area.count for area in job.areas] == [ALIKE] * 3
    assert sum(area.count for area in job.areas) == 300
    assert len({area.corners for area in job.areas}) == 3
    assert job.laying.grid == "best"
    assert balconies_text("best", 10, 1) != balconies_text("best", 10, 2)


def test_a_plaza_is_planned_and_checked() -> None:
    result = last("plaza-10")
    assert (result.why, result.faults, result.cells) == ("", (), 100)
    assert result.kinds == result.pieces
    assert 0 < result.bound <= result.cut < result.pieces
    assert result.proven == (result.bound == result.cut)
    assert f"| plaza-10 | 100 | {result.pieces} | {result.pieces} | {result.cut} |" in table([result])


def test_the_check_of_a_plan_has_a_limit_of_its_own() -> None:
    result = measure(Step(name="plaza-10", seed=1), limit=60, check_limit=0)
    assert (result.why, result.cells) == ("", 100)
    assert result.seconds > 0
    assert result.unchecked == "check not finished: stopped after 0 s"
    assert table([result]).splitlines()[2].endswith(f"| {result.unchecked} |")
    assert measure(Step(name="plaza-10", seed=1), limit=0, check_limit=60).why == "stopped after 0 s"


def test_the_three_steps_with_a_bar_are_held_against_it() -> None:
    plaza = Result(label="", name="plaza-100", day="", stopped="met", seconds=59, memory=900, cut=200, bound=199)
    slow = replace(plaza, seconds=61, memory=2049, bound=197)
    block = Result(label="", name="balconies-best", day="", stopped="met", seconds=9, cut=9, bound=9)
    assert BARS[plaza.name].missed(plaza) == ""
    assert BARS[plaza.name].missed(slow) == "seconds, memory, gap"
    assert BARS[block.name].missed(block) == "proof"
    assert BARS[block.name].missed(replace(block, proven=True)) == ""
    assert "Bar: plaza-100: 60 s, 2048 MiB, gap 1%: kept" in table([plaza])
    assert "Bar: balconies-best: 10 s, 2048 MiB, proven: missed by proof" in table([block])
    assert set(BARS) <= set(STEPS)


def test_laying_counts_the_cells_it_laid() -> None:
    result = last("laying-144")
    assert (result.cells, result.why) == (144, "")
    assert result.kinds == result.pieces > 36
    assert "| laying-144 | 144 |" in table([result])


def test_a_command_is_set_against_the_imports(monkeypatch: pytest.MonkeyPatch) -> None:
    """A command that only waits, for a quarter of a second, stands in for the demo."""
    monkeypatch.setattr("tests.benchmarks.ladder.DEMO", ("-c", "import time; time.sleep(0.25)"))
    monkeypatch.setattr("tests.benchmarks.ladder.REPEATS", 1)
    result = last("demo")
    assert result.seconds >= 0.25
    assert result.imports > 0
    assert f"| demo | {result.seconds:.2f} | {result.imports:.2f} |" in table([result])
    monkeypatch.setattr("tests.benchmarks.ladder.DEMO", ("-c", "raise SystemExit(3)"))
    with pytest.raises(subprocess.CalledProcessError):
        last("demo")


def test_growth_is_told_as_a_power_of_the_cells() -> None:
    """Ten times the cells in a hundred times the time: a power of 2; ten times the time: 1."""
    first = Result(label="", name="laying-10", day="", seconds=1.0, cells=10)
    rows = [first, replace(first, name="laying-100", seconds=100.0, cells=100)]
    rows.append(replace(first, name="laying-1000", seconds=1000.0, cells=1000))
    growth = [line.split("|")[5].strip() for line in table(rows).splitlines() if line.startswith("| laying")]
    assert growth == ["–", "2.00", "1.00"]


def test_steps_are_kept_and_failures_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "ladder.jsonl"
    assert len(STEPS) == 13
    order = ["--step", "laying-1000", "--out", str(out)]
    main([*order, "--limit", "0"])
    assert "No figures: laying-1000: stopped after 0 s" in capsys.readouterr().out
    main([*order])  # taken from the file
    assert "stopped after 0 s" in capsys.readouterr().out
    main([*order, "--seed", "2"])
    assert "| laying-1000 | 10" in capsys.readouterr().out
    assert [result.cells > 1000 for _, result in read(out, Result)] == [False, True]
