"""What a choice costs or saves, in words."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutopt.comparing.records import Figures
from cutopt.comparing.words import Terms, against, duration, listed
from tests.comparing.figures import figures

EURO = Terms(currency="EUR", show="mm")
UNPRICED = Terms(currency="", show="mm")
PLANS = st.builds(
    lambda tiles, cost, minutes, holes: figures(tiles=tiles, cost=cost, minutes=minutes, holes_drilled=holes),
    st.integers(0, 50),
    st.integers(0, 10_000).map(lambda cents: cents / 100),
    st.integers(0, 3_000).map(lambda tenths: tenths / 10),
    st.integers(0, 9),
)


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (figures(tiles=12, cost=500.0, minutes=100.0, holes_drilled=1), "3 tiles and 40 minutes more; 6 fewer holes"),
        (figures(tiles=8, cost=540.5, minutes=60.4), "40.50 EUR and 0.4 minutes more, 1 tile less; 7 fewer holes"),
        (figures(tiles=9, cost=500.0, minutes=60.0, holes_drilled=7), "as good in every figure"),
        (
            figures(tiles=9, cost=500.0, minutes=60.0, holes_drilled=8, pieces=1, setups=2, spare_backers=3),
            "as good in tiles, money and minutes; 1 more hole, 1 more piece, 2 more fence setups, "
            "3 more bought backers",
        ),
        (
            figures(tiles=9, cost=499.0, minutes=210.0, holes_drilled=7, offcut_area=250_000.0, open_area=90_000.0),
            "2 h 30 min more, 1.00 EUR less; 0.25 m² more of offcuts kept, 0.09 m² more left open",
        ),
        # less than can be printed is no difference
        (figures(tiles=9, cost=500.0, minutes=60.0, holes_drilled=7, offcut_area=4_000.0), "as good in every figure"),
    ],
)
def test_against_the_best(one: Figures, said: str) -> None:
    assert against(one, figures(tiles=9, cost=500.0, minutes=60.0, holes_drilled=7), EURO) == said


def test_the_other_is_named() -> None:
    one, other = figures(tiles=12, minutes=100.0), figures(tiles=9, minutes=60.0, holes_drilled=6)
    assert against(one, other, EURO, name="a/b/c") == "3 tiles and 40 minutes more than a/b/c; 6 fewer holes"
    assert against(one, one, EURO, name="a/b/c") == "as good as a/b/c in every figure"


def test_without_prices_there_is_no_talk_of_money() -> None:
    one, other = figures(tiles=1, cost=9.0, pieces=1), figures(tiles=1, cost=7.0)
    assert against(one, other, UNPRICED) == "as good in tiles and minutes; 1 more piece"


def test_areas_in_square_feet() -> None:
    one = figures(open_area=92_903.04)  # 1 ft = 304.8 mm exactly (international foot, NIST SP 811, B.8)
    assert against(one, figures(), Terms(currency="", show="in")).endswith("1.0 ft² more left open")


@given(PLANS, PLANS)
def test_what_one_costs_more_the_other_costs_less(one: Figures, other: Figures) -> None:
    swapped = {"more": "less", "less": "more"}
    there, back = clauses(against(one, other, EURO)), clauses(against(other, one, EURO))
    assert {(swapped.get(word, word), amount) for word, amount in there.items()} == set(back.items())


def clauses(said: str) -> dict[str, str]:
    """The amounts of tiles, money and minutes by their `more` or `less`."""
    first = said.split("; ")[0]
    found = re.findall(r"(.+?) (more|less)(?:, |$)", first)
    return {word: amount for amount, word in found} or {"": first}


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0.1, "0.1 minutes"),
        (1.0, "1 minute"),
        (9.9, "9.9 minutes"),
        (9.96, "10 minutes"),
        (40.4, "40 minutes"),
        (119.4, "119 minutes"),
        (119.6, "2 h 00 min"),
    ],
)
def test_durations(minutes: float, said: str) -> None:
    assert duration(minutes) == said


def test_lists() -> None:
    assert [listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])] == ["a", "a and b", "a, b and c"]
