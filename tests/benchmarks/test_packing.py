"""The benchmark of packing measures what it says: results are looked at here, times are not."""

from __future__ import annotations

from pathlib import Path

from tests.benchmarks.packing import read, run, table, tasks_of_lengths, tasks_of_sheets
from tests.benchmarks.packing_instances import Sheets, sheets_of_text
from tests.benchmarks.packing_published import NUMBERS, TEXTBOOK, published

TEXT = "a01;2;2750;1220;463,386,18;1680,420,6\ncl01_020_01;4;10;10;1,5;2,4,2;10,7\ncl10_040_02;1;100;90;7,8\n"


def test_instances_are_read_from_the_packages_text() -> None:
    first, second = sheets_of_text(TEXT)
    assert first == Sheets(name="CLASS01_020_01", kind=1, stock=(10, 10), items=((1, 5), (2, 4), (2, 4), (10, 7)))
    assert (second.name, second.kind, second.stock) == ("CLASS10_040_02", 10, (100, 90))


def test_the_published_sums_are_those_that_are_cited() -> None:
    """7230 is the sum of the best published values, 7147 that of the bounds."""
    groups = [published(kind, number) for kind in range(1, 11) for number in NUMBERS]
    assert sum(group.best for group in groups) == 7230
    assert sum(group.bound for group in groups) == 7147
    assert all(group.bound <= group.best and group.found_by for group in groups)


def test_a_run_goes_on_where_it_stopped(tmp_path: Path) -> None:
    out = tmp_path / "two.jsonl"
    tasks = tasks_of_sheets(sheets_of_text(TEXT), 1, 0, True)
    first = run(tasks[:1], out, 1)
    with out.open("a") as file:
        file.write('{"name": "CLASS10_0')  # cut short by a crash
        file.write("\n")
    both = run(tasks, out, 1)
    assert both[0] == first[0]
    assert {result.name for result in read(out)} == {"CLASS01_020_01", "CLASS10_040_02"}
    assert [(one.value, one.bound, one.proven, one.faults, one.hand, one.plain) for one in both] == [
        (2, 2, True, (), 2, 2),
        (1, 1, True, (), 1, 1),
    ]
    assert "| all | 2 | 3 | 3 | – | – |" in table(both)
    assert "every packing" in table(both)


def test_textbook_problems_are_tasks(tmp_path: Path) -> None:
    tasks = tasks_of_lengths([], 10, 0, False)
    assert [task.fewest for task in tasks] == [problem.fewest for problem in TEXTBOOK]
    (result,) = run(tasks[-1:], tmp_path / "one.jsonl", 1)
    assert (result.value, result.fewest, result.plain) == (4, 4, None)
