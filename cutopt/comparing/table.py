"""The comparison of a job for a terminal of 80 columns."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from rich.text import Text

from cutopt.book.words import printed
from cutopt.comparing.records import ChoiceLine, Figures, JobComparison
from cutopt.comparing.words import BEST, Terms, against, listed

WIDTH = 80
MARK, LAYS_MORE = "*", "+"
STUCK = "\u00a0"  # a blank at which no line ends
MOST_SIGNS = 1000  # of a paragraph
MORE = f"{LAYS_MORE} beaten only by choices that leave more ground open: fewer tiles are no saving there."
UNBEATEN = f"{MARK} unbeaten: no other choice is at least as good in {{}} and better in one of them."


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """A column: its heading over two lines, and what stands in it."""

    heading: tuple[str, str]
    cell: Callable[[Figures], str]


def told(comparison: JobComparison) -> Text:
    """The table and, under it, what each choice costs or saves. Names are texts, not markup.

    No line is over 80 columns wide unless its numbers are.
    """
    text = Text(no_wrap=True, overflow="ignore")
    text.append(printed.short(comparison.job, WIDTH), style="bold")
    text.append(f"\n{_counted(comparison)}\n\n")
    planned = [(line, line.figures) for line in comparison.choices if line.figures is not None]
    if planned:
        _table(text, comparison, [figures for _, figures in planned])
    _unplanned(text, comparison)
    if planned:
        _differences(text, comparison)
    _notes(text, comparison)
    text.rstrip()
    return text


def _counted(comparison: JobComparison) -> str:
    """ "18 choices, 2 of them unbeaten"."""
    done = sum(line.figures is not None for line in comparison.choices)
    unbeaten = sum(line.unbeaten for line in comparison.choices)
    many = printed.plural(len(comparison.choices), "choice")
    planned = "" if done == len(comparison.choices) else f", {printed.count(done)} planned"
    more = sum(line.lays_more for line in comparison.choices)
    others = f", {printed.count(more)} beaten by laying less ({LAYS_MORE})" if more else ""
    return f"{many}{planned}, {printed.count(unbeaten)} unbeaten ({MARK}){others}"


def _table(text: Text, comparison: JobComparison, figures: Sequence[Figures]) -> None:
    """A heading for each strategy and pattern, and a row for each of its grid starts."""
    columns = _columns(comparison, figures)
    widths = [max(len(word) for word in (*c.heading, *map(c.cell, figures))) for c in columns]
    label = 2 + max(len(line.grid) for line in comparison.choices)
    for level in (0, 1):
        heads = (column.heading[level].rjust(width) for column, width in zip(columns, widths, strict=True))
        text.append(("".ljust(label) + "  " + "  ".join(heads)).rstrip() + "\n")
    for (strategy, pattern), group in groupby(comparison.choices, key=lambda x: (x.strategy, x.pattern)):
        lines = [(line, line.figures) for line in group if line.figures is not None]
        if lines:
            text.append(f"{strategy}, {pattern}\n", style="bold")
        for line, found in lines:
            cells = (column.cell(found).rjust(width) for column, width in zip(columns, widths, strict=True))
            row = f"{_mark(line)} {line.grid}".ljust(label) + "  " + "  ".join(cells)
            text.append(row + "\n", style="" if _mark(line) == " " else "green")
    text.append("\n")


def _columns(comparison: JobComparison, figures: Sequence[Figures]) -> list[Column]:
    """Money and open ground only where there is any; cents where there is room for them."""
    size = "ft²" if comparison.show == "in" else "m²"
    cents = 2 if max(one.cost for one in figures) < 100_000 else 0
    columns = [Column(heading=("", "tiles"), cell=lambda x: f"{x.tiles:,}")]
    if comparison.currency:
        heading = ("", printed.short(comparison.currency, 8))
        columns.append(Column(heading=heading, cell=lambda x: f"{x.cost:,.{cents}f}"))
    columns += [
        Column(heading=("", "minutes"), cell=lambda x: f"{x.minutes:,.0f}"),
        Column(heading=("", "pieces"), cell=lambda x: f"{x.pieces:,}"),
        Column(heading=("fence", "setups"), cell=lambda x: f"{x.setups:,}"),
        Column(heading=("", "holes"), cell=lambda x: f"{x.holes_drilled:,}"),
        Column(heading=("offcuts", f"kept {size}"), cell=lambda x: _size(x.offcut_area, comparison)),
    ]
    if any(one.open_parts for one in figures):
        columns.append(Column(heading=("left", f"open {size}"), cell=lambda x: _size(x.open_area, comparison)))
    return columns


def _size(square_mm: float, comparison: JobComparison) -> str:
    """An area without its unit, which stands in the heading."""
    return printed.area(square_mm, comparison.show).split()[0]


def _unplanned(text: Text, comparison: JobComparison) -> None:
    """The choices without a plan, alike ones together, and what is not offered."""
    lines = [line for line in comparison.choices if line.figures is None]
    for state, reason in dict.fromkeys((line.state, line.reason) for line in lines):
        names = ", ".join(line.name for line in lines if (line.state, line.reason) == (state, reason))
        _paragraph(text, f"{state.capitalize()}: {names}: {reason}")
    for one in comparison.not_offered:
        _paragraph(text, f"Not offered: {one.word}: {one.why}")
    if lines or comparison.not_offered:
        text.append("\n")


def _differences(text: Text, comparison: JobComparison) -> None:
    """What each choice costs or saves against the best."""
    terms = Terms(currency=comparison.currency, show=comparison.show)
    best = next(line for line in comparison.choices if line.name == comparison.best)
    assert best.figures is not None, "the best is one that was planned"
    text.append(f"Best by the job's aim ({BEST[comparison.aim]})\n", style="bold")
    _paragraph(text, f"{_mark(best)} {best.name}", indent=4)
    others = [
        (line, against(line.figures, best.figures, terms))
        for line in comparison.choices
        if line.figures is not None and line != best
    ]
    if others:
        text.append("\nThe others against it\n", style="bold")
    for (_, _, words), group in groupby(others, key=lambda x: (x[0].strategy, x[0].pattern, x[1])):
        alike = [line for line, _ in group]
        names = listed([alike[0].name, *(line.grid for line in alike[1:])])
        _paragraph(text, f"{_mark(alike[0])} {names}: {words}", indent=4)
    text.append("\n")


def _notes(text: Text, comparison: JobComparison) -> None:
    found = [(line.name, line.figures) for line in comparison.choices if line.figures is not None]
    if not found:
        return
    _paragraph(text, UNBEATEN.format("tiles, money and minutes" if comparison.currency else "tiles and minutes"))
    if any(line.lays_more for line in comparison.choices):
        _paragraph(text, MORE)
    if any(figures.open_parts for _, figures in found):
        _paragraph(text, _what_stays_open(comparison, found))
    unproven = [name for name, figures in found if not figures.proven]
    if unproven and comparison.aim == "tiles":
        names = ", ".join(unproven) if len(unproven) < len(found) else "any of them"
        _paragraph(text, f"A longer search may find fewer tiles for {names}.")


def _what_stays_open(comparison: JobComparison, found: Sequence[tuple[str, Figures]]) -> str:
    """A choice may take fewer tiles because it lays less."""
    best = next(figures for name, figures in found if name == comparison.best)
    name, least = min(found, key=lambda x: (x[1].open_area, x[0] != comparison.best))
    sizes = [printed.area(figures.open_area, comparison.show) for figures in (best, least)]
    if sizes[0] == sizes[1]:
        return f"What stays open is not weighed; the best leaves {sizes[0]} open, no other less."
    return f"What stays open is not weighed: the best leaves {sizes[0]} open, {name} {sizes[1]}."


def _mark(line: ChoiceLine) -> str:
    if line.unbeaten:
        return MARK
    return LAYS_MORE if line.lays_more else " "


def _paragraph(text: Text, words: str, *, indent: int = 2) -> None:
    """The words in lines that end before column 80; a mark in front, or a blank in its place, is kept."""
    first = " " * (len(words) - len(words.lstrip()))
    # an area stays on a line with its unit
    clean = re.sub(" (?=(?:m|ft)²)", STUCK, printed.short(words.strip(), MOST_SIGNS))
    filled = textwrap.fill(clean, WIDTH, initial_indent=first, subsequent_indent=" " * indent, break_on_hyphens=False)
    text.append(filled.replace(STUCK, " ") + "\n")
