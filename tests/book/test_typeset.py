"""Lines of a PDF: plain words are set quickly, and just as the way that takes every kind of words sets them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutopt.book.pdf import fonts, typeset
from cutopt.book.pdf.typeset import Line, Run, lines, run

WORDS = st.text(alphabet="abcmwW.,0123456789 -()", max_size=60)
RUNS = st.lists(st.builds(run, WORDS, bold=st.booleans()), max_size=4)


def slowly(runs: list[Run], size: float, width: float, first: float) -> tuple[Line, ...]:
    setter = typeset._Setter(size, width, first)
    for word in typeset._together(typeset._atoms(runs)):
        setter.add(word)
    return setter.done()


@given(RUNS, st.floats(2.5, 6.0), st.floats(20.0, 120.0), st.sampled_from([0.0, 7.3]))
def test_quick_lines_are_the_slow_ones(runs: list[Run], size: float, width: float, first: float) -> None:
    quick, slow = lines(runs, size, width, first=first), slowly(runs, size, width, first)
    assert [[part for _, part in line.parts] for line in quick] == [[part for _, part in line.parts] for line in slow]
    assert [places(line) for line in quick] == [pytest.approx(places(line), abs=1e-9) for line in slow]


def places(line: Line) -> list[float]:
    """Where a line's parts begin, and its width, mm."""
    return [*(x for x, _ in line.parts), line.width]


@pytest.mark.parametrize(
    "runs",
    [
        [run("word " * 40)],
        [run("Face down. ", bold=True), run("Take out all 14 screws of backer 1 and lift it off. Write T5.b1 on it.")],
        [run("no"), run("space", bold=True)],
        [run("x" * 300)],
        [run("flag", flag=True), run(" and words")],
    ],
)
def test_no_line_is_wider_than_its_column(runs: list[Run]) -> None:
    made = lines(runs, 3.0, 60.0)
    assert "".join("".join(part.words.split()) for line in made for _, part in line.parts) == "".join(
        "".join(one.words.split()) for one in runs
    )
    for line in made:
        ends = [x + fonts.width(part.words, 3.0, part.heavy) for x, part in line.parts]
        assert all(end <= 60.0 + 0.01 for end in ends)
        assert line == made[-1] or line.width > 20.0
