"""What one choice costs or saves against another, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.book.words import printed
from cutopt.comparing.records import Figures, Sizes
from cutopt.job.records import Aim

BEST: dict[Aim, str] = {
    "tiles": "fewest tiles, then least work",
    "cost": "least money, then fewest tiles",
    "minutes": "least work, then fewest tiles",
}
SMALL_AREA = 5_000.0  # square millimetres: less prints as 0.00 m²


@dataclass(frozen=True, kw_only=True, slots=True)
class Terms:
    """How amounts are worded: the currency, none without prices, and the unit of lengths."""

    currency: str
    show: Sizes


def against(one: Figures, other: Figures, terms: Terms, *, name: str = "") -> str:
    """What `one` costs or saves against `other`, which is called by its name where that is given.

    "3 tiles and 40 minutes more, 12.00 EUR less than NAME; 6 fewer holes, 0.20 m² more left open".
    """
    rest = _others(one, other, terms)
    more, less = _weighed(one, other, terms)
    parts = [f"{listed(amounts)} {word}" for amounts, word in ((more, "more"), (less, "less")) if amounts]
    if parts:
        first = f"{', '.join(parts)} than {name}" if name else ", ".join(parts)
    else:
        first = f"as good as {name}" if name else "as good"
        what = "tiles, money and minutes" if terms.currency else "tiles and minutes"
        first += f" in {what}" if rest else " in every figure"
    return "; ".join(part for part in (first, ", ".join(rest)) if part)


def _weighed(one: Figures, other: Figures, terms: Terms) -> tuple[list[str], list[str]]:
    """What one takes more of, and what less, among tiles, money and minutes."""
    more: list[str] = []
    less: list[str] = []
    tiles = one.tiles - other.tiles
    money = round(one.cost - other.cost, 2)
    minutes = round(one.minutes - other.minutes, 1)
    worded = (
        (tiles, printed.plural(abs(tiles), "tile")),
        (money if terms.currency else 0, printed.money(abs(money), terms.currency)),
        (minutes, duration(abs(minutes))),
    )
    for difference, amount in worded:
        if difference:
            (more if difference > 0 else less).append(amount)
    return more, less


def duration(minutes: float) -> str:
    """Minutes in words below two hours, with tenths below ten: "0.4 minutes", "40 minutes", "2 h 27 min"."""
    if round(minutes) >= 120:
        return printed.minutes(minutes)
    exact = round(minutes, 1) if minutes < 9.95 else round(minutes)
    return printed.plural(exact, "minute")


def _others(one: Figures, other: Figures, terms: Terms) -> list[str]:
    """The differences in what does not decide: holes, pieces, setups, backers, offcuts kept, ground left open."""
    counted = (
        (one.holes_drilled - other.holes_drilled, "hole"),
        (one.pieces - other.pieces, "piece"),
        (one.setups - other.setups, "fence setup"),
        (one.spare_backers - other.spare_backers, "bought backer"),
    )
    said = [
        f"{printed.count(abs(n))} {'more' if n > 0 else 'fewer'} {noun if abs(n) == 1 else noun + 's'}"
        for n, noun in counted
        if n
    ]
    areas = (
        (one.offcut_area - other.offcut_area, "of offcuts kept"),
        (one.open_area - other.open_area, "left open"),
    )
    return said + [
        f"{printed.area(abs(size), terms.show)} {'more' if size > 0 else 'less'} {what}"
        for size, what in areas
        if abs(size) >= SMALL_AREA
    ]


def listed(amounts: Sequence[str]) -> str:
    """ "3 tiles, 12.00 EUR and 40 minutes"."""
    return " and ".join(part for part in (", ".join(amounts[:-1]), amounts[-1]) if part)
