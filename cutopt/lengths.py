"""Text and numbers ↔ whole ticks.

1 tick = 3.125 µm, so that 1 mm = 320, 1 in = 8128 and 1/64 in = 127 ticks, all exact.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from typing import Literal

TICKS_PER_MM = 320
TICKS_PER_INCH = 8128

Unit = Literal["mm", "cm", "m", "in", "ft"]
Show = Literal["mm", "in"]
Sign = Literal["any", "not negative", "positive"]

TICKS_IN: dict[Unit, int] = {"mm": 320, "cm": 3200, "m": 320_000, "in": 8128, "ft": 97_536}
LONGEST = 1000 * 320_000  # ticks: 1 km, far more than a terrace, so that a slip of the unit is caught

_UNITS: dict[str, Unit] = {
    "mm": "mm",
    "cm": "cm",
    "m": "m",
    "in": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
}
# double and single primes, curly quotation marks, the minus sign, the fraction slash
_MARKS = str.maketrans("\u2033\u201c\u201d\u2032\u2019\u2018\u2212\u2044", "\"\"\"'''-/")
_NUMBER = r"(?:(?:(?P<whole>\d+)[ -]+)?(?P<top>\d+)/(?P<bottom>\d+)|(?P<decimal>\d+(?:\.\d*)?|\.\d+))"
_ONE = re.compile(rf"{_NUMBER}\s*(?P<unit>[^\d\s.,/-]\S*)?", re.ASCII)
_FEET_AND_INCHES = re.compile(rf"(?P<feet>\d+)\s*(?:ft|foot|feet|')\s*-?\s*{_NUMBER}\s*(?:in|inch|inches|\")", re.ASCII)
_MOST_CHARACTERS = 60
_EXAMPLES = "write it like 596 mm, 45 cm, 1.81 m, 23-1/2 in or 5 ft 11 3/8 in"


class LengthError(ValueError):
    """Something is not a length: the rule that it breaks, and what to write instead."""

    def __init__(self, rule: str, remedy: str) -> None:
        self.rule = rule
        self.remedy = remedy
        super().__init__(f"{rule}; {remedy}")


def mm(ticks: int) -> float:
    """Ticks as decimal millimetres, exact to the tick."""
    return ticks / TICKS_PER_MM


def ticks(millimetres: float) -> int:
    """Millimetres as ticks, to the nearest."""
    return round(millimetres * TICKS_PER_MM)


def parse_length(value: object, *, unit: Unit = "mm", sign: Sign = "not negative") -> int:
    """A length as whole ticks, to the nearest where it is not a whole tick.

    `value` is a number in `unit`, or text with a unit of its own ("5 ft 11 3/8 in", "23-1/2\\"", "1.81 m"), or text
    with a bare number in `unit`. `sign` says whether nought and negative lengths are allowed.

    Raises `LengthError` for anything else.

    >>> parse_length("596 mm"), parse_length("23-1/2 in"), parse_length(1.81, unit="m")
    (190720, 191008, 579200)
    """
    exact = _from_text(value, unit) if isinstance(value, str) else _from_number(value, unit)
    if exact < 0 and sign != "any":
        raise LengthError("a length here is not negative", "leave out the minus sign")
    if abs(exact) > LONGEST:
        raise LengthError("a length is at most 1000 m", "check the number and its unit")
    whole = _to_nearest(exact)
    if whole <= 0 and sign == "positive":
        raise LengthError("a length here is more than 0", "write the measure that it has")
    return whole


def format_length(value: int, *, show: Show, finest: int | None = None, feet: bool = False, unit: bool = True) -> str:
    """Ticks as text that `parse_length` reads.

    Rounded to `finest` ticks, a half away from nought: 0.1 mm for show "mm" and 1/64 in for "in" unless told. Inches
    are mixed fractions, never finer than 1/64; `feet` takes out whole feet; without `unit` the bare number is given.

    >>> format_length(190720, show="mm"), format_length(191008, show="in", finest=508)
    ('596 mm', '23-1/2 in')
    >>> format_length(580136, show="in", feet=True)
    '5 ft 11-3/8 in'
    """
    finest = finest or (32 if show == "mm" else 127)
    whole = _to_nearest(Fraction(value, finest)) * finest
    minus = "-" if whole < 0 else ""
    if show == "mm":
        return minus + _decimal(abs(whole), finest) + (" mm" if unit else "")
    return minus + _inches(abs(whole), feet=feet, unit=unit)


def _to_nearest(exact: Fraction) -> int:
    """The nearest whole number, a half away from nought, so that a length and its negative round alike."""
    size = math.floor(abs(exact) + Fraction(1, 2))
    return -size if exact < 0 else size


def _from_number(value: object, unit: Unit) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise LengthError("a length is a number, or text with a unit", _EXAMPLES)
    if isinstance(value, float):
        if not math.isfinite(value):
            raise LengthError("a length is a finite number", "write the measured number")
        # the decimal that was written, not the binary number nearest to it
        return Fraction(repr(value)) * TICKS_IN[unit]
    return Fraction(value) * TICKS_IN[unit]


def _from_text(value: str, unit: Unit) -> Fraction:
    text = _plain(value)
    minus = text.startswith("-")
    text = text.removeprefix("-").strip()
    both = _FEET_AND_INCHES.fullmatch(text)
    if both:
        size = int(both["feet"]) * Fraction(TICKS_IN["ft"]) + _inches_after_feet(both) * TICKS_IN["in"]
    else:
        one = _ONE.fullmatch(text)
        if not one:
            raise LengthError(*_nonsense(text))
        size = _number(one) * TICKS_IN[_unit(one["unit"], unit)]
    return -size if minus else size


def _plain(value: str) -> str:
    """The text in small letters, with straight marks and with ½ written as 1/2."""
    if len(value) > _MOST_CHARACTERS:
        raise LengthError(f"a length has at most {_MOST_CHARACTERS} characters", _EXAMPLES)
    spread = "".join(f" {unicodedata.normalize('NFKC', c)}" if _is_fraction(c) else c for c in value)
    return spread.translate(_MARKS).replace("''", '"').strip().lower()


def _is_fraction(character: str) -> bool:
    return unicodedata.decomposition(character).startswith("<fraction>")


def _number(found: re.Match[str]) -> Fraction:
    if found["decimal"]:
        return Fraction(found["decimal"])
    top, bottom = int(found["top"]), int(found["bottom"])
    if bottom == 0:
        raise LengthError("a fraction is not divided by 0", _EXAMPLES)
    if found["whole"] and top >= bottom:
        raise LengthError(
            "the fraction after a whole number is less than 1", f"write {top}/{bottom} as a number of its own"
        )
    return int(found["whole"] or 0) + Fraction(top, bottom)


def _inches_after_feet(found: re.Match[str]) -> Fraction:
    inches = _number(found)
    if inches >= 12:
        raise LengthError("the inches after feet are less than 12", "write them as one more foot, or as inches alone")
    return inches


def _unit(name: str | None, default: Unit) -> Unit:
    if name is None:
        return default
    if name not in _UNITS:
        raise LengthError(f"'{name}' is not a unit of length here", "use mm, cm, m, in (or \") or ft (or ')")
    return _UNITS[name]


def _nonsense(text: str) -> tuple[str, str]:
    """Rule and remedy for text that is no length, by the likeliest slip."""
    if text in {"nan", "inf", "+inf", "infinity", "+nan", "+infinity"}:
        return "a length is a finite number", "write the measured number"
    if not text:
        return "a length is not empty", _EXAMPLES
    if re.fullmatch(r"[\d.,\s]+[a-z\"']*", text) and "," in text:
        return "a length has a decimal point, no comma", "write 1.81 m, not 1,81 m"
    if re.fullmatch(r"\d+\s*(ft|foot|feet|')\s*-?\s*\d.*", text):
        return "feet are followed by inches with their mark", "write 5 ft 11 3/8 in or 5' 11-3/8\""
    return "this is not a length", _EXAMPLES


def _decimal(size: int, finest: int) -> str:
    """Millimetres without idle noughts: in tenths, unless `finest` is finer than that."""
    if finest < 32:
        whole, rest = divmod(size, TICKS_PER_MM)
        text = f"{whole}.{rest * 3125:06d}"  # a tick is 0.003125 mm
    else:
        tenths = _to_nearest(Fraction(size, 32))
        text = f"{tenths // 10}.{tenths % 10}"
    return text.rstrip("0").rstrip(".")


def _inches(size: int, *, feet: bool, unit: bool) -> str:
    sixty_fourths = _to_nearest(Fraction(size, 127))
    whole, rest = divmod(sixty_fourths, 64)
    before, whole = divmod(whole, 12) if feet else (0, whole)
    fraction = str(Fraction(rest, 64)) if rest else ""
    number = f"{whole}-{fraction}" if whole and fraction else fraction or str(whole)
    inches = number + (" in" if unit or before else "")
    if not before:
        return inches
    return f"{before} ft {inches}" if sixty_fourths % (12 * 64) else f"{before} ft"
