"""Pages being filled: columns from top to bottom, a new page where a block has no room, headings with what follows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf.blocks import Block, Row, column_width, fill, parted, rule, side_by_side, space, stack, text
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink, Letters
from cutopt.book.pdf.typeset import Run, run

PaperName = Literal["A4", "Letter"]

SIZES: Mapping[PaperName, tuple[float, float]] = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
MARGIN = 10.0  # mm: what most printers leave blank is less
FOOT = 5.5  # mm above the lower margin for the running foot
GAP = 5.0  # mm between columns
ABOVE = 5.0  # mm above a heading
THICK = Style(stroke=BLACK, width=0.7)
HEADINGS: Mapping[int, float] = MappingProxyType({0: 18 * POINT, 1: 13 * POINT})


@dataclass(frozen=True, kw_only=True, slots=True)
class Paper:
    """A sheet, upright, in mm."""

    width: float
    height: float

    @property
    def wide(self) -> float:
        """Between the margins."""
        return self.width - 2 * MARGIN

    @property
    def high(self) -> float:
        """Between the upper margin and the foot."""
        return self.height - 2 * MARGIN - FOOT

    @property
    def top(self) -> float:
        return self.height - MARGIN


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """A line of the document's outline: where it leads, and how deep it stands."""

    key: str
    title: str
    level: int
    top: float


@dataclass(kw_only=True, slots=True)
class Page:
    """What is painted on a page, and where; `title` stands in its foot.

    `waits`: what it says is known only when all pages are laid out.
    """

    title: str
    ink: Ink
    items: list[tuple[Row, float, float]] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    bare: bool = False  # without a foot
    waits: bool = False

    def paint(self) -> Ink:
        """The page with all that was put on it since it was painted last; what is painted is forgotten."""
        for row, left, top in self.items:
            row.paint(self.ink, left, top)
        self.items.clear()
        return self.ink


def paper_of(name: PaperName) -> Paper:
    width, height = SIZES[name]
    return Paper(width=width, height=height)


class Flow:
    """The pages of a book, filled one block after the other."""

    def __init__(self, paper: Paper, letters: Letters) -> None:
        self.paper = paper
        self._letters = letters
        self.pages: list[Page] = []
        self.starts: dict[str, int] = {}  # page numbers of the marks, from 1
        self.waiting = False  # whether new pages say what is known only when all are laid out
        self._title = ""
        self._y = paper.top

    @property
    def width(self) -> float:
        """Between the margins, in mm."""
        return self.paper.wide

    @property
    def room(self) -> float:
        """What is left of the page."""
        return self._y - (self.paper.top - self.paper.high)

    def column(self, columns: int) -> float:
        """The width of one of so many columns."""
        return column_width(self.width, columns, GAP)

    def page(self, *, bare: bool = False) -> Page:
        """A new page, to be filled from its top; the one before is painted, so that a long book takes little memory."""
        if self.pages and not self.pages[-1].waits:
            self.pages[-1].paint()
        self.pages.append(Page(title=self._title, ink=Ink(self._letters), bare=bare, waits=self.waiting))
        self._y = self.paper.top
        return self.pages[-1]

    def section(self, title: str, key: str, words: Sequence[Run] = (), *, need: float = 0.0) -> None:
        """A heading on a new page, or on the same one where that has `need` mm left.

        `words`: what is set where it looks different from its title in the outline.
        """
        self._title = title
        if not need or self.room < need:
            self.page()
        self.heading(title, key, 0, words)

    def begin(self, title: str, key: str) -> None:
        """A new page without a heading, for what has titles of its own."""
        self._title = title
        self.page()
        self.mark(title, key, 0)

    def heading(self, title: str, key: str, level: int, words: Sequence[Run] = (), need: float = 25.0) -> None:
        """A heading that never stands alone at the foot of a page: `need` mm follow it."""
        size = HEADINGS[level]
        rows = [*text(words or [run(title, bold=True)], self.width, size), space(1.0)]
        rows += [rule(THICK, self.width, 2.0)] if level == 0 else []
        if sum(row.height for row in rows) + need + ABOVE > self.room and not self._fresh:
            self.page()
        if not self._fresh:
            self.put(space(ABOVE))
        if key:
            self.mark(title, key, level)
        self.put(stack(rows))

    def mark(self, title: str, key: str, level: int, *, back: float = 0.0) -> None:
        """A line of the outline that leads here, or to what was put `back` mm above."""
        self.starts.setdefault(key, len(self.pages))
        self.pages[-1].marks.append(Mark(key=key, title=title, level=level, top=self._y + back))

    def add(self, *blocks: Block) -> None:
        """Blocks one after the other; one that is higher than a page is cut between rows."""
        for one in parted(blocks, self.paper.high):
            self.put(stack(one.rows))

    def spread(self, blocks: Sequence[Block], columns: int) -> None:
        """Blocks in columns, down the first and then the next; of like height where a page takes all of them."""
        left = parted(blocks, self.paper.high)
        step = self.column(columns) + GAP
        while left:
            filled = fill(left, columns, self.room)
            if not filled.columns[0] and not self._fresh:
                self.page()
                continue
            towers = [stack([row for one in column for row in one.rows]) for column in filled.columns]
            self.put(side_by_side([(n * step, tower) for n, tower in enumerate(towers)]))
            left = list(filled.rest)

    def put(self, row: Row) -> None:
        """A row where the page has room for it, or on a new one."""
        if row.height > self.room + 1e-6 and not self._fresh:
            self.page()
        self.pages[-1].items.append((row, MARGIN, self._y))
        self._y -= row.height

    @property
    def _fresh(self) -> bool:
        """Whether nothing is on the page yet."""
        return self._y >= self.paper.top - 1e-6
