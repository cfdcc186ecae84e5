"""Right-to-left names: joined and put in order as UAX #9 has it."""

from __future__ import annotations

import pytest

from cutopt.book.pdf.direction import CLOSE, OPEN, isolated, joined, plain, unisolated, visual

ALEF, BET, GIMEL = "א", "ב", "ג"


@pytest.mark.parametrize(
    ("words", "seen"),
    [
        ("plain words, 12.5 mm", "plain words, 12.5 mm"),
        (f"to {ALEF}{BET} go", f"to {BET}{ALEF} go"),
        # rules W4 and L2: a number keeps its own direction, its separator belongs to it
        (f"{ALEF} 12.5 {BET}", f"{BET} 12.5 {ALEF}"),
        # rule N1: neutrals between right-to-left letters run with them
        (f"{ALEF}, {BET}", f"{BET} ,{ALEF}"),
        # rule N2: neutrals between letters of both directions run with the line
        (f"{ALEF}, b", f"{ALEF}, b"),
        # rule L4: brackets are mirrored
        (f"{ALEF}({BET}){GIMEL}", f"{GIMEL}({BET}){ALEF}"),
        # rule W7: a number after left-to-right text belongs to that
        (f"row 3, {ALEF}", f"row 3, {ALEF}"),
    ],
)
def test_order_of_a_line(words: str, seen: str) -> None:
    assert visual(words) == seen


def test_a_name_leaves_the_words_around_it_alone() -> None:
    # without the isolate the number would stand left of the name
    assert visual(f"{ALEF}{BET} 3 of 4") == f"3 {BET}{ALEF} of 4"
    assert visual(f"{isolated(ALEF + BET)} 3 of 4") == f"{BET}{ALEF} 3 of 4"
    assert unisolated(isolated(ALEF)) == ALEF


def test_a_name_cannot_turn_the_line_around() -> None:
    assert plain("a\u202eb\u2066c\u200fd") == "abcd"
    assert isolated(f"{ALEF}\u202e{CLOSE}{OPEN}b") == f"{OPEN}{ALEF}b{CLOSE}"
    assert plain("a\tb\nc\x00") == "a b c "


def test_arabic_letters_take_their_joined_forms() -> None:
    # beh alone, and at the beginning, in the middle and at the end of a word: U+FE8F, FE91, FE92, FE90
    assert joined("ب") == "\ufe8f"
    assert joined("ببب") == "\ufe91\ufe92\ufe90"
    # alef joins to the letter before it only: U+FE8D alone, FE8E final
    assert joined("اب") == "\ufe8d\ufe8f"
    assert joined("با") == "\ufe91\ufe8e"
    # lam and alef are one sign: U+FEFB alone, FEFC after a letter that joins
    assert joined("لا") == "\ufefb"
    assert joined("بلا") == "\ufe91\ufefc"


def test_marks_stay_on_their_letters() -> None:
    marked = f"{ALEF}\u05b8{BET}"  # qamats under alef
    assert visual(marked) == f"{BET}{ALEF}\u05b8"


def test_an_isolate_that_is_not_closed_ends_with_the_line() -> None:
    assert unisolated(visual(f"{OPEN}{ALEF}{BET}")) == f"{BET}{ALEF}"
    assert unisolated(visual(f"{ALEF}{CLOSE} x")) == f"{ALEF} x"
