"""The summary for a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Collection
from itertools import groupby

from rich.text import Text

from cutopt.book.drawings.siteplan import open_parts
from cutopt.book.words import printed
from cutopt.book.words.wording import figures
from cutopt.planfile.model import Plan

WIDTH = 80
MOST_ROWS = 6  # of cells in a line
MOST_LINES = 8  # of what stays open and of warnings; the page has them all


def summary(plan: Plan) -> Text:
    """Tiles, proof, work, money, what stays open and the warnings, no line over 80 columns or with spaces at its end.

    Names are texts, not markup. `str()` of it is the plain text.
    """
    text = Text(no_wrap=True)
    text.append(printed.short(plan.job.name, WIDTH), style="bold")
    text.append("\n\n")
    rows = figures(plan)
    label = max(len(what) for what, _ in rows) + 2
    for what, how_much in rows:
        text.append(what.ljust(label), style="bold")
        text.append(_wrapped(how_much, label))
    _list(text, "Stays open", _open_lines(plan))
    _list(text, "Warnings", list(plan.warnings))
    text.rstrip()
    return text


def _open_lines(plan: Plan) -> list[str]:
    """Parts in a row that stay open for the same reason are one line."""
    lines = []
    for (area, why, rule), group in groupby(open_parts(plan), key=lambda p: (p.area, p.left.why, p.left.rule)):
        run = list(group)
        letters = "–".join(dict.fromkeys((run[0].letter, run[-1].letter)))
        orders = {part.cell.order for part in run}
        noun = "cell" if len(orders) == 1 else "cells"
        lines.append(f"{letters}  {printed.short(area, 24)}, {noun} {_numbers(orders)}: {why} ({rule})")
    return lines


def _numbers(orders: Collection[int]) -> str:
    """Numbers of cells, those in a row as first and last: "3–5, 9 and 12"; how many there are where they lie in too
    many places to list.
    """
    rows: list[list[int]] = []
    for order in sorted(orders):
        if rows and order == rows[-1][-1] + 1:
            rows[-1].append(order)
        else:
            rows.append([order])
    if len(rows) > MOST_ROWS:
        return f"{rows[0][0]} to {rows[-1][-1]}, {len(orders)} of them"
    said = [str(row[0]) if len(row) == 1 else f"{row[0]}–{row[-1]}" for row in rows]
    return " and ".join(part for part in (", ".join(said[:-1]), said[-1]) if part)


def _list(text: Text, title: str, lines: list[str]) -> None:
    if not lines:
        return
    text.append(f"\n{title}\n", style="bold")
    for line in lines[:MOST_LINES]:
        text.append("  " + _wrapped(printed.short(line, 300), 4, first=2))
    if len(lines) > MOST_LINES:
        text.append(f"  and {len(lines) - MOST_LINES} more, all in the book\n")


def _wrapped(words: str, indent: int, first: int | None = None) -> str:
    """The words in lines that end before column 80, all but the first indented; the first begins at `first`."""
    started = " " * (indent if first is None else first)
    filled = textwrap.fill(words, WIDTH, initial_indent=started, subsequent_indent=" " * indent, break_on_hyphens=False)
    return filled[len(started) :] + "\n"
