"""The benchmark of the carpentry measures what it says: results are looked at here, times are not."""

from __future__ import annotations

from cutopt.fit import Fit
from tests.benchmarks.carpentry import drawn_pieces, run, table
from tests.fit.shapes import KINDS, NAMED


def test_the_pieces_differ_and_are_the_same_each_time() -> None:
    pieces = drawn_pieces(300, 3)
    assert len({(name, ring) for name, _, ring in pieces}) == 300
    assert {name for name, _, _ in pieces} == set(NAMED)
    assert {kind for _, kind, _ in pieces} == set(KINDS)
    assert pieces == drawn_pieces(300, 3)
    assert pieces != drawn_pieces(300, 4)


def test_a_small_run_fits_and_hangs_what_it_says() -> None:
    timed = run(pieces=60, sources=30)
    assert len(timed.asked) == 60
    assert timed.hung == 30
    accepted = sum(isinstance(one.answer, Fit) for one in timed.asked)
    assert 20 <= accepted <= 60
    text = table(timed)
    assert f"accepted {accepted / 60:.1%}" in text
    assert all(word in text for word in ("fit", "hang", "bar", "seed 3"))
