"""The two faces of the book, how wide their letters are, and which letters they have.

DejaVu Sans Condensed, since it has Hebrew and Arabic beside the alphabets of Europe, and since its letters are no wider
than the drawings reckon with (`pen.ems`). Files and licence are in `cutopt/book/fonts`.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.resources import as_file, files

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont

POINT = 25.4 / 72  # mm
NAMES: Mapping[bool, str] = {False: "DejaVuSansCondensed", True: "DejaVuSansCondensed-Bold"}
BOX = "□"  # in place of a letter that the face has not
LAST = 0xFFFF  # reportlab's tables for reading a text back end there


@cache
def face(bold: bool) -> TTFont:
    """The face, read once and known to reportlab by its name."""
    with as_file(files("cutopt.book") / "fonts" / f"{NAMES[bold]}.ttf") as path:
        font = TTFont(NAMES[bold], str(path))
    registerFont(font)
    return font


@cache
def _widths(bold: bool) -> dict[str, float]:
    """Each letter's width in heights of the face."""
    found = face(bold).face.charWidths
    return {chr(code): found[code] / 1000 for code in found if code <= LAST and not _formatting(chr(code))}


def width(words: str, size: float, bold: bool = False) -> float:
    """How wide a text is, in the unit of `size`."""
    return size * _ems(words, bold)


@lru_cache(maxsize=65536)  # the words of a book come again and again
def _ems(words: str, bold: bool) -> float:
    widths = _widths(bold)
    try:
        return sum([widths[sign] for sign in words])
    except KeyError:
        return sum([widths[sign] for sign in drawable(words, bold)])


def drawable(words: str, bold: bool = False) -> str:
    """The text with a box for each letter that the face has not."""
    if words.isascii():
        return words
    widths = _widths(bold)
    return "".join(sign if sign in widths else BOX for sign in words if not _formatting(sign))


def _formatting(sign: str) -> bool:
    """Signs that steer a text and have no shape of their own."""
    return unicodedata.category(sign) == "Cf"
