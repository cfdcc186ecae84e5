"""The terminal's summary."""

from __future__ import annotations

import pytest
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


@pytest.mark.parametrize(
    ("orders", "said"),
    [
        ([12], "A  Balcony, cell 12:"),
        ([12, 12], "A–B  Balcony, cell 12:"),
        ([44, 17], "A–B  Balcony, cells 17 and 44:"),
        ([3, 4, 5], "A–C  Balcony, cells 3–5:"),
        ([3, 4, 5, 9, 12], "A–E  Balcony, cells 3–5, 9 and 12:"),
        ([1, 3, 5, 7, 9, 11, 13, 14], "A–H  Balcony, cells 1 to 14, 8 of them:"),
    ],
)
def test_cells_that_stay_open_are_named_each_or_counted(orders: list[int], said: str) -> None:
    made = sample_json()
    (area,) = made["areas"]
    (first,) = (cell for cell in area["cells"] if cell["left"])
    left = first["left"]
    first["left"] = []
    area["cells"] += [{**first, "order": order, "left": left} for order in orders]
    assert said in shown(Plan.model_validate(made))
