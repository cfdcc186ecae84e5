"""The benchmark of the book measures what it says: results are looked at here, times are not."""

from __future__ import annotations

from dataclasses import replace

from cutopt.book.files import BOOK_FILES
from tests.benchmarks.book import BAR, measure, table, terraces_job


def test_no_two_terraces_are_alike_and_each_time_they_are_the_same() -> None:
    job = terraces_job(30, 5)
    assert len({area.corners for area in job.areas}) == 30
    assert job == terraces_job(30, 5) != terraces_job(30, 6)


def test_a_book_is_made_and_told() -> None:
    made = measure(2, 5)
    assert made.tiles > 10
    assert made.areas == 2
    assert set(made.megabytes) == set(BOOK_FILES)
    assert made.load_seconds < made.seconds
    said = table(made, 5)
    assert f"| tiles to cut | {made.tiles} |" in said
    assert "cutbook.pdf, MB" in said


def test_the_pace_is_that_of_two_thousand_tiles() -> None:
    made = replace(measure(1, 5), tiles=500, seconds=BAR / 4)
    assert made.pace == BAR
