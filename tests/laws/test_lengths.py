"""Laws of lengths: what is printed is what is read."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from cutopt.lengths import LONGEST, LengthError, Show, format_length, mm, parse_length, ticks

LENGTHS = st.integers(-LONGEST, LONGEST)
SHOWS: st.SearchStrategy[Show] = st.sampled_from(["mm", "in"])


@given(LENGTHS)
def test_a_tick_is_exact_in_millimetres(length: int) -> None:
    assert ticks(mm(length)) == length
    assert parse_length(mm(length), sign="any") == length


@given(LENGTHS)
def test_at_a_tick_text_is_exact(length: int) -> None:
    assert parse_length(format_length(length, show="mm", finest=1), sign="any") == length


@given(st.integers(-(LONGEST // 127), LONGEST // 127), st.booleans())
def test_sixty_fourths_of_an_inch_are_exact(count: int, feet: bool) -> None:
    assert parse_length(format_length(127 * count, show="in", feet=feet), sign="any") == 127 * count


@given(
    LENGTHS.filter(lambda length: abs(length) < LONGEST - 8128), st.integers(1, 20), SHOWS, st.booleans(), st.booleans()
)
def test_text_is_within_half_a_mark(length: int, count: int, show: Show, feet: bool, unit: bool) -> None:
    finest = count * (32 if show == "mm" else 127)
    text = format_length(length, show=show, finest=finest, feet=feet and unit, unit=unit)
    read = parse_length(text, unit=show, sign="any")
    assert 2 * abs(read - length) <= finest
    assert read % finest == 0
    # printing what was read changes nothing
    assert format_length(read, show=show, finest=finest, feet=feet and unit, unit=unit) == text


@given(LENGTHS, SHOWS)
def test_a_length_and_its_negative_round_alike(length: int, show: Show) -> None:
    text = format_length(abs(length), show=show)
    mirrored = format_length(-abs(length), show=show)
    assert mirrored in (text, f"-{text}")


@given(st.integers(0, 900), st.integers(0, 11), st.integers(1, 64), st.data())
def test_feet_inches_and_fractions_add_up(feet: int, inches: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(0, bottom - 1))
    exact = Fraction(12 * feet + inches) + Fraction(top, bottom)
    read = parse_length(f"{feet} ft {inches} {top}/{bottom} in")
    assert abs(read - exact * 8128) <= Fraction(1, 2)


@given(st.one_of(st.text(max_size=70), st.floats(), st.integers(), st.booleans(), st.none()))
def test_anything_is_a_length_or_refused_in_words(value: object) -> None:
    try:
        read = parse_length(value)
    except LengthError as error:
        told = (error.rule, error.remedy)
    else:
        told = ("a length", "") if 0 <= read <= LONGEST else ("", "")
    assert told[0]
