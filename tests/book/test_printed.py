"""Lengths as printed."""

from __future__ import annotations

import pytest

from cutopt.book.words import printed


@pytest.mark.parametrize(
    ("mm", "words"),
    [(420.0, "420"), (484.8, "484.8"), (484.84, "484.8"), (0.0, "0"), (0.04, "0"), (-6.5, "-6.5"), (599.96875, "600")],
)
def test_millimetres_show_tenths_where_there_are_any(mm: float, words: str) -> None:
    assert printed.length(mm, "mm") == words


# 1 in = 25.4 mm exactly (NIST SP 811, App. B.8); 1/16 in = 1.5875, 1/64 in = 0.396875
@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (25.4, "1"),
        (596.9, "23-1/2"),
        (1.5875, "1/16"),
        (25.4 + 3 * 1.5875, "1-3/16"),
        (0.396875, "1/64"),
        (25.4 + 5 * 0.396875, "1-5/64"),
        (609.6, "24"),
        (25.39, "1"),
        (0.0, "0"),
    ],
)
def test_inches_are_fractions(mm: float, words: str) -> None:
    assert printed.length(mm, "in") == words


def test_inches_are_never_further_off_than_half_a_sixty_fourth() -> None:
    for tick in range(0, 40_000, 17):
        text = printed.length(tick / 320, "in")
        whole, _, part = text.rpartition("-")
        above, _, below = part.partition("/")
        inches = (float(whole) if whole else 0.0) + (float(above) / float(below) if below else float(above))
        assert abs(inches * 25.4 - tick / 320) <= 25.4 / 128 + 1e-9


def test_areas() -> None:
    assert printed.area(2_500_000, "mm") == "2.50 m²"
    assert printed.area(144 * 25.4**2 * 10, "in") == "10.0 ft²"


def test_letters_go_on_after_z() -> None:
    assert [printed.letters(n) for n in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]


def test_minutes() -> None:
    assert (printed.minutes(45.4), printed.minutes(310)) == ("45 min", "5 h 10 min")


def test_short_cuts_and_cleans() -> None:
    assert printed.short("a\x00b" + "c" * 200, 6) == "a bcc…"
