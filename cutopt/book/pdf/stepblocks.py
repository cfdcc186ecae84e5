"""A step on paper: a box to tick for each copy, its number, station and face, words, sum, and where the rest goes."""

from __future__ import annotations

from cutopt.book.drawings.styles import GREY, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import BODY, BOX, KEY, NOTE, TICK, Block, Paint, Row, block, rule, space, text
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.typeset import BASELINE, LEADING, Line, lines, paint_line, run
from cutopt.book.words.contents import Card, StepLine

THIN = Style(stroke=GREY, width=0.18)
INDENT = TICK + 1.6  # mm: the words stand beside the boxes
AFTER = 1.8  # mm between a step's number and its words
BETWEEN = 1.6  # mm between two boxes
FIELD = 26.0  # mm to write tallies in, where copies are too many for boxes
SMALL = 6.5 * POINT  # the number of a copy, in its box


def step_blocks(card: Card, width: float, size: float = BODY) -> list[Block]:
    """All steps of a card in a column of that width, their words in `size` (in mm)."""
    return [_step(line, width, size) for line in card.steps]


def _step(line: StepLine, width: float, size: float) -> Block:
    step = line.step
    lead = f"{step.station}, face {step.face}{', on site' if step.where == 'site' else ''}: "
    first = fonts.width(str(step.n), KEY, True) + AFTER
    said = lines([run(lead, bold=True), run(step.text)], size, width - INDENT, first=first)
    rows: list[Row] = [_numbered(line, said[0], size)]
    rows += [Row(height=size * LEADING, paint=_painter(one, size)) for one in said[1:]]
    if step.sum:
        rows += text([run(f"Check: {step.sum}", bold=True)], width, KEY, indent=INDENT)
    if line.goes:
        rows += text([run(f"{line.goes}.")], width, NOTE, indent=INDENT)
    for wait in line.waits:
        words = f"First step {wait.step} of {wait.source}: it frees this wood."
        rows += text([run(words, bold=True)], width, NOTE, indent=INDENT)
    if line.after:
        rows += text([run(f"After step {', '.join(map(str, line.after))}")], width, NOTE, indent=INDENT)
    return block(rule(THIN, width, 0.9), rows, *_copies(line, width), space(0.9))


def _numbered(line: StepLine, first: Line, size: float) -> Row:
    """The first line, after the step's box and number."""

    def paint(ink: Ink, left: float, top: float) -> None:
        if len(line.copies) == 1:
            ink.box(left, top, TICK, TICK, BOX)
        below = top - KEY * BASELINE
        ink.text((left + INDENT, below), str(line.step.n), KEY, bold=True)
        paint_line(ink, first, left + INDENT, below + size * BASELINE, size)

    return Row(height=max(TICK, KEY * LEADING - 0.2), paint=paint)


def _painter(line: Line, size: float) -> Paint:
    return lambda ink, left, top: paint_line(ink, line, left + INDENT, top, size)


def _copies(line: StepLine, width: float) -> tuple[Row, ...]:
    """A numbered box for each copy, or a field to count many in."""
    if len(line.copies) == 1:
        return ()
    if line.counted:
        return (_tally(len(line.copies)),)
    each = TICK + BETWEEN
    across = max(1, int((width - INDENT) / each))
    return tuple(_boxes(line.copies[n : n + across], each) for n in range(0, len(line.copies), across))


def _boxes(copies: tuple[int, ...], each: float) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        for n, copy in enumerate(copies):
            x = left + INDENT + n * each
            ink.box(x, top - 0.4, TICK, TICK, BOX)
            aside = (TICK - fonts.width(str(copy), SMALL)) / 2
            ink.text((x + aside, top - 0.4 - TICK * 0.72), str(copy), SMALL, colour=GREY)

    return Row(height=TICK + 0.8, paint=paint)


def _tally(copies: int) -> Row:
    def paint(ink: Ink, left: float, top: float) -> None:
        ink.text((left + INDENT, top - 4.2), "done:", BODY)
        start = left + INDENT + fonts.width("done: ", BODY)
        ink.box(start, top - 0.6, FIELD, 5.4, BOX)
        ink.text((start + FIELD + 1.5, top - 4.2), f"of {copies}", BODY)

    return Row(height=6.8, paint=paint)
