"""A step on paper: a box to tick for each copy, its number, station and face, words, sum, and where the rest goes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cutopt.book.drawings.styles import GREY, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import BODY, BOX, NOTE, TICK, Block, Paint, Row, block, rule, space, text
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.typeset import BASELINE, LEADING, Line, lines, paint_line, run
from cutopt.book.words.contents import Card, StepLine
from cutopt.planfile.model import Step

THIN = Style(stroke=GREY, width=0.18)
INDENT = TICK + 1.4  # mm: the words stand beside the boxes
PARTED = 1.4  # mm between two steps, a rule in the middle
LARGER = 1.16  # of the size: a step's number and its sum
AFTER = 1.8  # mm between a step's number and its words
BETWEEN = 1.6  # mm between two boxes
TALLY = 6.8  # mm, the height of a field to count in
FIELD = 26.0  # mm to write tallies in, where copies are too many for boxes
SMALL = 8 * POINT  # the number of a copy, in its box


def step_blocks(card: Card, width: float, size: float = BODY, start: int = 0) -> Iterator[Block]:
    """The steps of a card, those before `start` left out, in a column of that width, their words in `size` (in mm)."""
    return (_step(line, width, size) for line in card.steps[start:])


def _step(line: StepLine, width: float, size: float) -> Block:
    step, key, note = line.step, size * LARGER, min(size, NOTE)
    first = fonts.width(str(step.n), key, True) + AFTER
    said = lines([run(lead(step), bold=True), run(step.text)], size, width - INDENT, first=first)
    rows: list[Row] = [_numbered(line, said[0], size)]
    rows += [Row(height=size * LEADING, paint=_painter(one, size)) for one in said[1:]]
    if step.sum:
        rows += text([run(f"Check: {step.sum}", bold=True)], width, key, indent=INDENT)
    if line.goes:
        rows += text([run(f"{line.goes}.")], width, note, indent=INDENT)
    for wait in line.waits:
        words = f"First step {wait.step} of {wait.source}: it frees this wood."
        rows += text([run(words, bold=True)], width, note, indent=INDENT)
    if line.after:
        rows += text([run(f"After step {', '.join(map(str, line.after))}")], width, note, indent=INDENT)
    return block(rule(THIN, width, PARTED / 2), rows, *_copies(line, width), space(PARTED / 2))


def lead(step: Step) -> str:
    """Station and face before a step's words, without the face where they begin with it."""
    told = step.text.lower().removeprefix("tile ").startswith(f"face {step.face}")
    return f"{step.station}{'' if told else f', face {step.face}'}{', on site' if step.where == 'site' else ''}: "


def _numbered(line: StepLine, first: Line, size: float) -> Row:
    """The first line, after the step's box and number."""
    key = size * LARGER

    def paint(ink: Ink, left: float, top: float) -> None:
        if len(line.copies) == 1:
            ink.box(left, top, TICK, TICK, BOX)
        below = top - key * BASELINE
        ink.text((left + INDENT, below), str(line.step.n), key, bold=True)
        paint_line(ink, first, left + INDENT, below + size * BASELINE, size)

    return Row(height=max(TICK + 0.2, key * LEADING - 0.2), paint=paint)


def _painter(line: Line, size: float) -> Paint:
    return lambda ink, left, top: paint_line(ink, line, left + INDENT, top, size)


def _copies(line: StepLine, width: float) -> tuple[Row, ...]:
    """A numbered box for each copy, or a field to count many in."""
    if len(line.copies) == 1:
        return ()
    if line.counted:
        return (_tally(len(line.copies)),)
    across = _across(width)
    return tuple(_boxes(line.copies[n : n + across]) for n in range(0, len(line.copies), across))


def _across(width: float) -> int:
    """How many boxes go beside each other in a column."""
    return max(1, int((width - INDENT) / (TICK + BETWEEN)))


def boxes_high(line: StepLine, width: float) -> float:
    """What the boxes of a step's copies take."""
    if len(line.copies) == 1:
        return 0.0
    return TALLY if line.counted else math.ceil(len(line.copies) / _across(width)) * (TICK + 0.8)


def _boxes(copies: tuple[int, ...]) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        for n, copy in enumerate(copies):
            x = left + INDENT + n * (TICK + BETWEEN)
            ink.box(x, top - 0.4, TICK, TICK, BOX)
            aside = (TICK - fonts.width(str(copy), SMALL)) / 2
            ink.text((x + aside, top - 0.4 - TICK * 0.76), str(copy), SMALL, colour=GREY)

    return Row(height=TICK + 0.8, paint=paint)


def _tally(copies: int) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        ink.text((left + INDENT, top - 4.2), "done:", BODY)
        start = left + INDENT + fonts.width("done: ", BODY)
        ink.box(start, top - 0.6, FIELD, 5.4, BOX)
        ink.text((start + FIELD + 1.5, top - 4.2), f"of {copies}", BODY)

    return Row(height=TALLY, paint=paint)
