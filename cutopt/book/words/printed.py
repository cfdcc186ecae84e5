"""Numbers as they are printed: lengths in the job's unit, areas, minutes, money.

Millimetres show tenths where there are any. Inches are fractions: sixteenths where the length is on one, otherwise the
nearest sixty-fourth.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from cutopt.lengths import TICKS_PER_INCH, TICKS_PER_MM, format_length, ticks

Unit = Literal["mm", "in"]

FINEST: dict[Unit, int] = {"mm": TICKS_PER_MM // 10, "in": TICKS_PER_INCH // 64}  # as fine as the steps print
SQUARE_MM_PER_M2 = 1_000_000.0
SQUARE_MM_PER_FT2 = 304.8**2


def length(millimetres: float, unit: Unit) -> str:
    """The length without its unit: `length(420, "mm")` is "420", `length(419.1, "in")` is "16-1/2"."""
    return format_length(ticks(millimetres), show=unit, finest=FINEST[unit], unit=False)


def with_unit(millimetres: float, unit: Unit) -> str:
    """The length with its unit: "420 mm", "16-1/2 in"."""
    return f"{length(millimetres, unit)} {unit}"


def span(lengths: Iterable[float], unit: Unit) -> str:
    """Least to most, one number where they print alike: "6 to 12"."""
    low, high = (length(value, unit) for value in lengths)
    return low if low == high else f"{low} to {high}"


def area(square_mm: float, unit: Unit) -> str:
    """An area in square metres, or square feet where lengths are in inches."""
    if unit == "in":
        return f"{square_mm / SQUARE_MM_PER_FT2:.1f} ft²"
    return f"{square_mm / SQUARE_MM_PER_M2:.2f} m²"


def minutes(value: float) -> str:
    """Minutes below two hours, otherwise hours and minutes: "45 min", "5 h 10 min"."""
    whole = round(value)
    return f"{whole} min" if whole < 120 else f"{whole // 60} h {whole % 60:02d} min"


def money(amount: float, currency: str) -> str:
    """An amount with its currency: "9,120.50 EUR"."""
    return f"{amount:,.2f} {currency}"


def count(value: float) -> str:
    """A count or a quantity with no more decimals than it needs."""
    return f"{value:,.0f}" if value == int(value) else f"{value:,.2f}".rstrip("0")


def amount(number: float, unit: str) -> str:
    """A quantity with its unit, which the plan has in the plural: "1 piece", "3 pieces", "0.5 L"."""
    return f"{count(number)} {unit.removesuffix('s') if number == 1 else unit}".rstrip()


def plural(number: float, noun: str, many: str = "") -> str:
    """A number and its noun: "1 tile", "3 tiles"."""
    return f"{count(number)} {noun if number == 1 else many or noun + 's'}"


def letters(index: int) -> str:
    """A, B ... Z, AA, AB ... for index 0, 1 ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def short(text: str, most: int) -> str:
    """The text, or its beginning and an ellipsis where it is longer than `most` characters; control characters go."""
    clean = "".join(sign if sign.isprintable() else " " for sign in text)
    return clean if len(clean) <= most else clean[: most - 1].rstrip() + "…"
