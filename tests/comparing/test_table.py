"""The table as a terminal of 80 columns shows it."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from cutopt.comparing.choices import Limits, Menu, menu
from cutopt.comparing.judging import Outcome, judged
from cutopt.comparing.records import JobComparison
from cutopt.comparing.table import told
from cutopt.job.records import Job
from tests.comparing.figures import figures
from tests.jobs import room

MONEY = "[money]\ntile = 74.0\nhour = 48.0\n"
LIMITS = Limits(strategies=("one-for-one", "factory-edge"), patterns=("straight",), grids=("best", "centred"))


def job_called(name: str, before: str = MONEY) -> Job:
    return replace(room(2000, 1500, before=before), name=name)


def compared(job: Job, **changes: float) -> JobComparison:
    """Four choices: one without a plan, three with figures of which two are unbeaten."""
    listed = menu(job, LIMITS)
    found = (
        figures(tiles=1_012, cost=74_500.25, minutes=2_900.0, pieces=6, setups=12, holes_drilled=28, **changes),
        figures(tiles=1_009, cost=74_000.0, minutes=3_100.0, pieces=9, setups=3, holes_drilled=16, **changes),
        figures(tiles=1_015, cost=75_000.0, minutes=3_200.0, pieces=6, setups=8, holes_drilled=28, **changes),
    )
    outcomes = [
        Outcome(choice=choice, state="planned", figures=each)
        for choice, each in zip(listed.choices, found, strict=False)
    ]
    outcomes.append(Outcome(choice=listed.choices[3], state="no plan", reason="nothing can be laid; rule wall_gap"))
    return judged(job, listed, outcomes)


def lines_of(comparison: JobComparison) -> list[str]:
    return str(told(comparison)).splitlines()


def test_what_the_planner_reads() -> None:
    assert "\n".join(lines_of(compared(job_called("Back yard")))) == (
        "Back yard\n"
        "4 choices, 3 planned, 2 unbeaten (*)\n"
        "\n"
        "                                               fence         offcuts\n"
        "           tiles        EUR  minutes  pieces  setups  holes  kept m²\n"
        "one-for-one, straight\n"
        "* best     1,012  74,500.25    2,900       6      12     28     0.00\n"
        "* centred  1,009  74,000.00    3,100       9       3     16     0.00\n"
        "factory-edge, straight\n"
        "  best     1,015  75,000.00    3,200       6       8     28     0.00\n"
        "\n"
        "No plan: factory-edge/straight/centred: nothing can be laid; rule wall_gap\n"
        "\n"
        "Best by the job's aim (fewest tiles, then least work)\n"
        "* one-for-one/straight/centred\n"
        "\n"
        "The others against it\n"
        "* one-for-one/straight/best: 3 tiles and 500.25 EUR more, 3 h 20 min less; 12\n"
        "    more holes, 3 fewer pieces, 9 more fence setups\n"
        "  factory-edge/straight/best: 6 tiles, 1,000.00 EUR and 100 minutes more; 12\n"
        "    more holes, 3 fewer pieces, 5 more fence setups\n"
        "\n"
        "* unbeaten: no other choice is at least as good in tiles, money and minutes and\n"
        "  better in one of them."
    )


@pytest.mark.parametrize("area", [0.0, 90_000.0])
@pytest.mark.parametrize("show", ["mm", "in"])
def test_it_fits_80_columns(area: float, show: str) -> None:
    job = replace(job_called("x" * 80), show="in" if show == "in" else "mm")
    lines = lines_of(compared(job, open_parts=1, open_area=area, offcut_area=9_500_000.0, proven=False))
    assert max(map(len, lines)) <= 80
    assert all(line == line.rstrip() for line in lines)


def test_names_are_no_markup_and_move_no_cursor() -> None:
    screen = io.StringIO()
    comparison = compared(job_called("[red]deck[/red] \x1b[2J[/]"))
    Console(file=screen, highlight=False, force_terminal=True, width=80).print(told(comparison), soft_wrap=True)
    assert "[red]deck[/red]" in screen.getvalue()
    assert "\x1b[2J" not in screen.getvalue()


def test_the_sign_stands_without_colour_too() -> None:
    lines = lines_of(compared(job_called("deck")))
    assert [line.split()[1] for line in lines if line.startswith("* ") and "," in line][:2] == ["best", "centred"]


def test_without_prices_no_money() -> None:
    said = "\n".join(lines_of(compared(job_called("deck", before=""))))
    assert "EUR" not in said
    assert "money" not in said


def test_what_stays_open_is_said_of_the_best_and_of_the_least() -> None:
    job = job_called("deck")
    listed = menu(job, Limits(strategies=("factory-edge",), patterns=("straight",), grids=("best", "centred")))
    found = (figures(tiles=5, open_parts=4, open_area=800_000.0), figures(tiles=7, open_parts=2, open_area=400_000.0))
    outcomes = [
        Outcome(choice=choice, state="planned", figures=each)
        for choice, each in zip(listed.choices, found, strict=True)
    ]
    comparison = judged(job, listed, outcomes)
    assert [(line.unbeaten, line.lays_more) for line in comparison.choices] == [(True, False), (False, True)]
    lines = lines_of(comparison)
    assert lines[1] == "2 choices, 1 unbeaten (*), 1 beaten by laying less (+)"
    assert sum(line.startswith("+ centred ") for line in lines) == 1
    said = " ".join(" ".join(lines).split())
    assert "+ beaten only by choices that leave more ground open: fewer tiles are no saving there." in said
    assert "the best leaves 0.80 m² open, factory-edge/straight/centred 0.40 m²." in said
    said = " ".join(" ".join(lines_of(judged(job, listed, outcomes[:1]))).split())
    assert "the best leaves 0.80 m² open, no other less." in said


def test_nothing_planned() -> None:
    job = job_called("deck")
    listed: Menu = menu(job, LIMITS)
    outcomes = [Outcome(choice=choice, state="not finished", reason="stopped") for choice in listed.choices]
    comparison = judged(job, listed, outcomes)
    assert comparison.best is None
    lines = lines_of(comparison)
    assert lines[1] == "4 choices, 0 planned, 0 unbeaten (*)"
    assert lines[3].startswith("Not finished: one-for-one/straight/best, ")


def test_words_are_against_the_best_by_name() -> None:
    comparison = compared(job_called("deck"))
    words = {line.name: line.words for line in comparison.choices}
    assert comparison.best == "one-for-one/straight/centred"
    assert words[comparison.best] == ""
    assert words["one-for-one/straight/best"].startswith(
        "3 tiles and 500.25 EUR more, 3 h 20 min less than one-for-one/straight/centred; "
    )
    beaten = {line.name: line.beaten_by for line in comparison.choices}
    assert beaten["factory-edge/straight/best"] == ("one-for-one/straight/best", "one-for-one/straight/centred")


def test_a_longer_search_is_named_where_less_is_not_ruled_out() -> None:
    said = " ".join(" ".join(lines_of(compared(job_called("deck"), proven=False))).split())
    assert said.endswith("A longer search may find fewer tiles for any of them.")
