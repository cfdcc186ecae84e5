"""Lengths against published values of the units, and what is no length."""

from __future__ import annotations

import math

import pytest

from cutopt.lengths import TICKS_PER_INCH, TICKS_PER_MM, LengthError, Unit, format_length, mm, parse_length, ticks


# 1 in = 25.4 mm exactly: NIST SP 811, Appendix B.8; the rest follows from it
@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1 in", 25.4),
        ("1 ft", 304.8),
        ("1/16 in", 1.5875),
        ("1/32 in", 0.79375),
        ("1/64 in", 0.396875),
        ("20 in", 508),
        ("24 in", 609.6),
        ("48 in", 1219.2),
    ],
)
def test_published_values(text: str, millimetres: float) -> None:
    assert mm(parse_length(text)) == millimetres


def test_ticks_divide_both_units() -> None:
    # 25.4 mm of 320 ticks are 8128; 8128 / 64 = 127
    assert TICKS_PER_INCH == 25.4 * TICKS_PER_MM == 8128
    assert TICKS_PER_INCH % 64 == 0
    assert ticks(25.4) == 8128


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("5 ft 11 3/8 in", 71 * 8128 + 3 * 1016),  # 60 + 11 inches and three eighths of 8128
        ("5' 11-3/8\"", 71 * 8128 + 3 * 1016),
        ("5ft11-3/8in", 71 * 8128 + 3 * 1016),
        ("5\u2032 11⅜\u2033", 71 * 8128 + 3 * 1016),
        ("5 feet 11 inches", 71 * 8128),
        ("5' 11''", 71 * 8128),
        ("5 FT", 60 * 8128),
        ('23-1/2"', 23 * 8128 + 4064),
        ("23½ in", 23 * 8128 + 4064),
        ("3/4 in", 6096),
        ("1.81 m", 1810 * 320),
        (".5 m", 500 * 320),
        ("596 mm", 596 * 320),
        ("596mm", 596 * 320),
        ("45 cm", 450 * 320),
        ("0", 0),
        ("  12  ", 12 * 320),
    ],
)
def test_text(text: str, expected: int) -> None:
    assert parse_length(text) == expected


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (1810, "mm", 579_200),
        (1.81, "m", 579_200),  # the decimal that was written, not the binary number nearest to it
        (0.1, "mm", 32),
        ("23-1/2", "in", 191_008),
        (2, "ft", 195_072),
        ("1 mm", "in", 320),  # a unit of its own goes before the default
    ],
)
def test_bare_numbers_are_in_the_default_unit(value: object, unit: Unit, expected: int) -> None:
    assert parse_length(value, unit=unit) == expected


def test_what_is_no_whole_tick_goes_to_the_nearest() -> None:
    # 1/3 in = 2709.33 ticks; 0.005 mm = 1.6 ticks
    assert parse_length("1/3 in") == 2709
    assert parse_length("0.005 mm") == 2
    assert parse_length("-0.005 mm", sign="any") == -2


def test_signs() -> None:
    assert parse_length("-9 mm", sign="any") == parse_length("\u22129 mm", sign="any") == -9 * 320
    assert parse_length(-9, sign="any") == -2880
    for value in ("-9 mm", -9, -0.5):
        with pytest.raises(LengthError, match="not negative"):
            parse_length(value)
    for value in (0, "0 mm", "0.001 mm"):  # the last is less than half a tick
        with pytest.raises(LengthError, match="more than 0"):
            parse_length(value, sign="positive")


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        (math.nan, "finite"),
        (math.inf, "finite"),
        (-math.inf, "finite"),
        ("nan", "finite"),
        ("-inf", "finite"),
        (True, "a number, or text"),
        (None, "a number, or text"),
        ([1], "a number, or text"),
        ("", "empty"),
        ("   ", "empty"),
        ("about 5", "not a length"),
        ("mm", "not a length"),
        ("1e3 mm", "not a length"),
        ("--5 mm", "not a length"),
        ("5 mm 3", "not a length"),
        ("²", "not a length"),
        ("٣ mm", "not a length"),
        ("5 furlong", "'furlong' is not a unit"),
        ("5 kg", "'kg' is not a unit"),
        ("5 mm²", "'mm²' is not a unit"),
        ("1,81 m", "no comma"),
        ("1/0 in", "divided by 0"),
        ("7 9/8 in", "less than 1"),
        ("5 ft 12 in", "less than 12"),
        ("5' 11", "followed by inches"),
        ("1001 m", "at most 1000 m"),
        (10**400, "at most 1000 m"),
        ("9" * 61, "at most 60 characters"),
    ],
)
def test_what_is_no_length(value: object, rule: str) -> None:
    with pytest.raises(LengthError, match=rule) as caught:
        parse_length(value, sign="any")
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("value", "finest", "text"),
    [
        (596 * 320, None, "596 mm"),
        (190_880, None, "596.5 mm"),
        (190_880, 320, "597 mm"),  # a half goes away from nought
        (-190_880, 320, "-597 mm"),
        (1, 1, "0.003125 mm"),
        (100 * 320, None, "100 mm"),
        (0, None, "0 mm"),
        (-10, None, "0 mm"),
        (508, 508, "1.6 mm"),  # a mark of 1/16 in, printed in tenths
    ],
)
def test_millimetres_as_text(value: int, finest: int | None, text: str) -> None:
    assert format_length(value, show="mm", finest=finest) == text


@pytest.mark.parametrize(
    ("value", "finest", "text"),
    [
        (191_008, None, "23-1/2 in"),
        (127, None, "1/64 in"),
        (127, 508, "0 in"),  # 1/64 in to the nearest 1/16
        (8128 * 24, 508, "24 in"),
        (8128 * 24 + 3 * 508, 508, "24-3/16 in"),
        (-4064, None, "-1/2 in"),
    ],
)
def test_inches_as_text(value: int, finest: int | None, text: str) -> None:
    assert format_length(value, show="in", finest=finest) == text


def test_feet_and_bare_numbers() -> None:
    assert format_length(71 * 8128 + 3048, show="in", feet=True) == "5 ft 11-3/8 in"
    assert format_length(60 * 8128, show="in", feet=True) == "5 ft"
    assert format_length(60 * 8128 + 4064, show="in", feet=True) == "5 ft 1/2 in"
    assert format_length(8128, show="in", feet=True) == "1 in"
    assert format_length(191_008, show="in", unit=False) == "23-1/2"
    assert format_length(320, show="mm", unit=False) == "1"
