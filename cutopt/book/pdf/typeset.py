"""Texts in lines: runs of regular, bold and flagged words, broken where they meet the edge of a column."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from cutopt.book.drawings.styles import BLACK, YELLOW, Style
from cutopt.book.pdf import fonts
from cutopt.book.pdf.direction import CLOSE, OPEN, joined, plain
from cutopt.book.pdf.ink import Ink

FLAG = Style(stroke=BLACK, width=0.3, fill=YELLOW)
LEADING = 1.28  # of the size
BASELINE = 0.93  # of the size, from a line's top
_WORDS = re.compile(" +|[^ ]+")


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """Words in one look; `flag` puts them in a box that nobody overlooks."""

    words: str
    bold: bool = False
    flag: bool = False

    @property
    def heavy(self) -> bool:
        return self.bold or self.flag


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """One line: each run of it at its distance from the left edge, in mm."""

    parts: tuple[tuple[float, Run], ...]
    width: float


@dataclass(frozen=True, kw_only=True, slots=True)
class _Atom:
    """A word, or the part of one that has its own look; `apart`: a space stands before it."""

    words: str
    run: Run
    apart: bool


def run(words: str, *, bold: bool = False, flag: bool = False) -> Run:
    return Run(words=words, bold=bold, flag=flag)


def lines(runs: Iterable[Run], size: float, width: float, *, first: float = 0.0) -> tuple[Line, ...]:
    """The runs in lines no wider than `width` mm; words that are wider by themselves are broken where they must.

    `first`: mm that the first line leaves free at its beginning.
    """
    given = tuple(runs)
    if len(given) == 1 and not given[0].flag:  # most of them: a line that needs no breaking
        words = joined(plain(given[0].words))
        wide = fonts.width(words, size, given[0].bold)
        if words.strip() == words and "  " not in words and first + wide <= width:
            return (Line(parts=((first, Run(words=words, bold=given[0].bold)),), width=first + wide),) if words else ()
    quick = _set_quickly(given, size, width, first)
    if quick is not None:
        return quick
    setter = _Setter(size, width, first)
    for word in _together(_atoms(given)):
        setter.add(word)
    return setter.done()


def clipped(words: str, size: float, width: float, *, bold: bool = False) -> str:
    """As much of a text as one line has room for, an ellipsis where that is not all."""
    shown = joined(plain(words))
    if fonts.width(shown, size, bold) <= width:
        return words
    room = width - fonts.width("…", size, bold)
    kept = plain(words)
    while kept and fonts.width(joined(kept), size, bold) > room:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def paint_line(ink: Ink, line: Line, left: float, top: float, size: float) -> None:
    """The line under `top`."""
    for x, one in line.parts:
        if one.flag:
            wide = fonts.width(one.words, size, True)
            ink.box(left + x - 0.7, top - size * 0.08, wide + 1.4, size * 1.12, FLAG)
        ink.text((left + x, top - size * BASELINE), one.words, size, bold=one.heavy)


def _set_quickly(given: Sequence[Run], size: float, width: float, first: float) -> tuple[Line, ...] | None:
    """What `_Setter` makes of plain words, as nearly all are; None where it must see to it that nothing goes wrong.

    A book may have a million words: they are measured once, whatever their size, and joined a line at a time.
    """
    if not _is_plain(given):
        return None
    made: list[Line] = []
    parts: list[tuple[float, Run]] = []
    x = first
    for one in given:
        words, widths = _measured(one.words, one.bold)
        space, start, left = fonts.width(" ", size, one.bold), 0, x
        for n, own in enumerate(widths):
            wide, gap = size * own, space if parts or n > start else 0.0
            if x > 0.0 and x + gap + wide > width:
                _part(parts, left, words[start:n], one)
                made.append(Line(parts=tuple(parts), width=x))
                parts, x, gap, start = [], 0.0, 0.0, n
            if x + gap + wide > width + 1e-6:
                return None
            left = x + gap if n == start else left
            x += gap + wide
        _part(parts, left, words[start:], one)
    return (*made, Line(parts=tuple(parts), width=x)) if parts else tuple(made)


def _is_plain(given: Sequence[Run]) -> bool:
    """Letters that stand as they are given, no flags, and a space between any two runs."""
    return all(one.words.isascii() and one.words.isprintable() and not one.flag for one in given) and all(
        before.words.endswith(" ") or one.words.startswith(" ") for before, one in pairwise(given)
    )


@lru_cache(maxsize=16384)
def _measured(words: str, bold: bool) -> tuple[tuple[str, ...], tuple[float, ...]]:
    """The words and their widths in heights of the face."""
    found = tuple(words.split())
    return found, tuple(fonts.width(one, 1.0, bold) for one in found)


def _part(parts: list[tuple[float, Run]], left: float, words: Sequence[str], look: Run) -> None:
    """Words that follow each other on a line, with those before them where they look alike."""
    if not words:
        return
    said = " ".join(words)
    if parts and parts[-1][1].bold == look.bold:
        at, before = parts.pop()
        parts.append((at, Run(words=f"{before.words} {said}", bold=look.bold)))
    else:
        parts.append((left, Run(words=said, bold=look.bold)))


def _atoms(runs: Iterable[Run]) -> list[_Atom]:
    found, apart = [], False
    for one in runs:
        shaped = joined(plain(one.words))
        for token in [shaped] if one.flag else _WORDS.findall(shaped):
            if token.startswith(" ") and not one.flag:
                apart = True
            else:
                found.append(_Atom(words=token, run=one, apart=apart))
                apart = False
    return found


def _together(atoms: Sequence[_Atom]) -> list[list[_Atom]]:
    """Atoms with no space between them, which stay on one line if it can be."""
    found: list[list[_Atom]] = []
    for atom in atoms:
        if found and not atom.apart:
            found[-1].append(atom)
        else:
            found.append([atom])
    return found


class _Setter:
    """Fills lines from left to right."""

    def __init__(self, size: float, width: float, first: float) -> None:
        self._size, self._width = size, width
        self._spaces = {heavy: fonts.width(" ", size, heavy) for heavy in (False, True)}
        self._lines: list[Line] = []
        self._parts: list[tuple[float, list[str], Run]] = []  # where, the words, their look
        self._x = first
        self._inside = False  # an isolated name that goes on in the next line

    def add(self, word: Sequence[_Atom]) -> None:
        widths = [fonts.width(atom.words, self._size, atom.run.heavy) for atom in word]
        wide = widths[0] if len(widths) == 1 else sum(widths)
        space = self._spaces[word[0].run.heavy] if word[0].apart and self._parts else 0.0
        if self._x > 0.0 and self._x + space + wide > self._width:
            self._end()
            space = 0.0
        for atom, own in zip(word, widths, strict=True):
            if self._x + space + own > self._width + 1e-6:
                self._broken(atom, space)
            else:
                self._append(atom.run, atom.words, space, own)
            space = 0.0

    def done(self) -> tuple[Line, ...]:
        if self._parts:
            self._end()
        return tuple(self._lines)

    def _broken(self, atom: _Atom, space: float) -> None:
        """A word that is wider than its line, over as many lines as it takes."""
        words, heavy = atom.words, atom.run.heavy
        while words:
            fits = self._fitting(words, heavy, self._width - self._x - space)
            self._append(atom.run, words[:fits], space, fonts.width(words[:fits], self._size, heavy))
            words, space = words[fits:], 0.0
            if words:
                self._end()

    def _fitting(self, words: str, heavy: bool, room: float) -> int:
        """How many letters of a long word go into the room: at least one on an empty line."""
        total, least = 0.0, 0 if self._x > 0.0 else 1
        for n, sign in enumerate(words):
            total += fonts.width(sign, self._size, heavy)
            if total > room:
                return max(n, least)
        return len(words)

    def _append(self, look: Run, words: str, space: float, wide: float) -> None:
        if not words:
            return
        before = self._parts[-1] if self._parts else None
        if before and before[2].bold == look.bold and not (before[2].flag or look.flag):
            before[1].append(f" {words}" if space else words)
        else:
            self._parts.append((self._x + space, [words], look))
        self._x += space + wide

    def _end(self) -> None:
        """An isolated name that the line breaks is closed on it and opened again on the next."""
        parts = []
        for x, said, look in self._parts:
            words = "".join(said)
            words = OPEN + words if self._inside else words
            self._inside = words.count(OPEN) > words.count(CLOSE)
            parts.append((x, Run(words=words + CLOSE if self._inside else words, bold=look.bold, flag=look.flag)))
        self._lines.append(Line(parts=tuple(parts), width=self._x))
        self._parts, self._x = [], 0.0
