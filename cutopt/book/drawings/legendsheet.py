"""The legend below a drawing that is a file of its own: samples with their words in columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cutopt.book.drawings.drawing import Drawing, Legend, Mark, Point
from cutopt.book.drawings.legend import WIDE, Entry
from cutopt.book.drawings.moving import moved, scaled
from cutopt.book.drawings.pen import LEGIBLE, Pen, ems

COLUMN = 110.0  # sheet mm: a sample and the words beside it
BESIDE = 3.0  # sheet mm from a sample to its words, and between columns
LINE = 1.35  # of the letters' height, from line to line
TITLE = 5.0  # sheet mm
APART = 3.0  # sheet mm between entries
SOURCES = "Line types after ISO 128, dimensions after ISO 129-1, colours of Okabe and Ito (2008)."


def with_legend(drawing: Drawing, entries: Sequence[Entry]) -> Drawing:
    """The drawing with its legend below it, on one sheet."""
    left, bottom, right, top = drawing.box
    scale = drawing.scale
    columns = max(1, int((right - left) / scale / (COLUMN + BESIDE)))
    pen, y = Pen(1.0), -2 * TITLE
    pen.text((0.0, -TITLE), "Legend", TITLE, "label", "start")
    marks: list[Mark] = []
    for n in range(0, len(entries), columns):
        row = entries[n : n + columns]
        highs = []
        for place, entry in enumerate(row):
            x = place * (COLUMN + BESIDE)
            lines = wrapped(entry.words, COLUMN - WIDE - BESIDE)
            high = max(entry.drawing.box[3], len(lines) * LEGIBLE * LINE)
            marks += [moved(mark, (x, y - high / 2 - entry.drawing.box[3] / 2)) for mark in entry.drawing.marks]
            _write(pen, lines, (x + WIDE + BESIDE, y - high / 2))
            highs.append(high)
        y -= max(highs) + APART
    pen.text((0.0, y - LEGIBLE), SOURCES, LEGIBLE, "plain", "start")
    marks += pen.drawing("").marks
    low = bottom + (y - 2 * LEGIBLE - APART) * scale
    wide = max(right, left + (columns * (COLUMN + BESIDE) + APART) * scale)
    parts = tuple(moved(scaled(mark, scale), (left + APART * scale, bottom)) for mark in marks)
    return replace(drawing, shapes=(*drawing.shapes, Legend(parts=parts)), box=(left, low, wide, top))


def wrapped(words: str, width: float) -> list[str]:
    """The words in lines no wider than so many sheet mm, about."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and ems(longer) * LEGIBLE > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _write(pen: Pen, lines: Sequence[str], at: Point) -> None:
    """Lines about the middle of a sample."""
    x, y = at[0], at[1] + (len(lines) - 1) * LEGIBLE * LINE / 2
    for n, line in enumerate(lines):
        pen.text((x, y - n * LEGIBLE * LINE), line, LEGIBLE, "plain", "start")
