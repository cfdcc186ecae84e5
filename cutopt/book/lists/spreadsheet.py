"""Tables as CSV (RFC 4180): a header row with units, CRLF line ends, cells that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from unicodedata import lookup

_SIGNS = ("EQUALS SIGN", "PLUS SIGN", "HYPHEN-MINUS", "COMMERCIAL AT")
# a formula begins with one of these, and in some spreadsheets with its wide twin
FORMULA = (*(lookup(wide + sign) for wide in ("", "FULLWIDTH ") for sign in _SIGNS), "\t", "\r", "\n")
NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """The table; a row has a cell for each column."""
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet)
    writer.writerow(head)
    writer.writerows([[plain(cell) for cell, _ in zip(row, head, strict=True)] for row in rows])
    return sheet.getvalue()


def plain(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: it begins with an apostrophe where it might be one.

    Numbers stay numbers. Control characters and lone surrogates, which a file cannot hold, become spaces.
    """
    clean = cell if cell.isascii() and cell.isprintable() else "".join(map(_clean, cell))
    risky = clean.lstrip(" ").startswith(FORMULA) and not NUMBER.fullmatch(clean)
    return f"'{clean}" if risky else clean


def _clean(sign: str) -> str:
    shown = sign in "\n\t\r" or (sign >= " " and sign != "\x7f" and not "\ud800" <= sign <= "\udfff")
    return sign if shown else " "


def decimal(value: float) -> str:
    """A number in full, without an exponent and no longer than it needs; millimetres come out exact to the tick."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
