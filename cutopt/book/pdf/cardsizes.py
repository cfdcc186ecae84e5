"""How high a card will be, about, before it is laid out: which sizes of type are worth a try."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import BODY, NOTE
from cutopt.book.pdf.cardparts import APART, PAD, head
from cutopt.book.pdf.direction import plain
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.rendering import size_of
from cutopt.book.pdf.stepblocks import INDENT, LARGER, PARTED, boxes_high, lead
from cutopt.book.pdf.typeset import LEADING
from cutopt.book.words.contents import Card, StepLine

SIZES = (BODY, NOTE, 8.5 * POINT, 8 * POINT)  # of a card's steps and table, in mm: nothing that is read is smaller
NAMES = 12.0  # mm, about, that the names of the hardware take beside its sentences
RAGGED = 1.03  # of their width, words in lines that end where a word ends
SURE = 1.03  # of the height worked out here: still less than nearly all cards take


def at_least(card: Card, width: float, size: float) -> float:
    """Less than the height of all that is on a card but its head, in a column of so many mm."""
    figures = [size_of(drawing) for drawing in card.drawings]
    drawn = sum(high * (1.0 if n == 0 else min(1.0, (wide + APART) / width)) for n, (wide, high) in enumerate(figures))
    small = min(size, NOTE)
    table = sum(_rows(f"{one.doing}: {one.end}, {one.side}", small, width - NAMES) * small for one in card.hardware)
    return SURE * (drawn + table * LEADING + sum(_step(line, width, size) for line in card.steps))


def heads_high(card: Card, width: float) -> float:
    """The height of a card's head with the space below a card."""
    return sum(row.height for row in head(card, width)) + PAD


def _step(line: StepLine, width: float, size: float) -> float:
    column, small = width - INDENT, min(size, NOTE)
    high = _rows(f"{line.step.n}  {lead(line.step)}{line.step.text}", size, column) * size
    high += size * LARGER if line.step.sum else 0.0
    high += small * sum(_rows(words, small, column) for words in _notes(line))
    return high * LEADING + PARTED + boxes_high(line, width)


def _notes(line: StepLine) -> Iterator[str]:
    if line.goes:
        yield line.goes
    yield from ("First step 1 of T1: it frees this wood." for _ in line.waits)


def _rows(words: str, size: float, width: float) -> int:
    return math.ceil(RAGGED * fonts.width(plain(words), size) / width)
