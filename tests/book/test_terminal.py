"""The terminal's summary."""

from __future__ import annotations

from rich.console import Console

from cutopt.book import summary
from cutopt.planfile import Plan
from tests.book.sample import sample_json, sample_plan


def shown(plan: Plan) -> str:
    console = Console(width=80, record=True, file=None, force_terminal=False, quiet=False, no_color=True)
    with console.capture() as caught:
        console.print(summary(plan))
    return caught.get()


def test_fits_in_eighty_columns_and_has_the_figures() -> None:
    text = shown(sample_plan())
    assert max(len(line) for line in text.splitlines()) <= 80
    assert str(summary(sample_plan())).splitlines() == text.splitlines()
    assert not any(line.endswith(" ") for line in text.splitlines())
    for words in (
        "24 (10 and 2",
        "10 whole and 10 to cut",
        "22 tiles",
        "proven",
        "12 cuts",
        "62",
        "14",
        "1,649.00 EUR",
    ):
        assert words in text


def test_what_stays_open_and_warnings_are_listed() -> None:
    text = " ".join(shown(sample_plan()).split())
    assert "cell 12: a strip of 60 beside it would be narrower than 75 (thinnest_strip)" in text
    assert "P6: slat 7 ends 100 past backer b2" in text


def test_names_are_not_markup() -> None:
    made = sample_json(name="[red]deck[/red] [link=x]")
    assert "[red]deck[/red] [link=x]" in shown(Plan.model_validate(made))


def test_many_warnings_are_cut_short() -> None:
    made = sample_json()
    made["warnings"] = [f"warning {n}" for n in range(30)]
    assert "and 22 more" in shown(Plan.model_validate(made))
