"""The bar goes to a terminal, and only there."""

from __future__ import annotations

import io
import sys

import pytest

from cutopt.planning import Progress
from cutopt.progress import search_bar, words


class Terminal(io.StringIO):
    """Text that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("best", "bound", "said"),
    [
        (None, None, "no plan yet"),
        (None, 33, "no plan yet, bound 33"),
        (34, None, "best 34"),
        (34, 33, "best 34, bound 33"),
    ],
)
def test_words(best: int | None, bound: int | None, said: str) -> None:
    assert words(Progress(done=1, of=2, best=best, bound=bound)) == said


def test_no_bar_where_it_is_not_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    with search_bar(wanted=False) as move:
        assert move is None
    assert screen.getvalue() == ""


def test_no_bar_in_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with search_bar(wanted=True) as move:
        assert move is None


def test_the_bar_shows_best_and_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("TERM", "xterm")
    with search_bar(wanted=True) as move:
        assert move is not None
        move(Progress(done=12, of=240, best=34, bound=33))
        move(Progress(done=0, of=0, best=None, bound=None))  # nothing to search: no division by zero
        move(Progress(done=240, of=240, best=33, bound=33))
    assert "240/240" in screen.getvalue()
    assert "best 33, bound 33" in screen.getvalue()
