"""Ways to spoil a good plan, one fault each, with the rules by which the check must name it.

Each looks for a victim in whatever plan it is given, so that the same list serves the small plan and real ones; where a
plan has none (no notch, no second cut), `NoVictim` is raised.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]
Spoil = Callable[[Json], None]


class NoVictim(LookupError):
    """The plan has nothing that this corruption could spoil."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Corruption:
    """`spoil` changes the values in place; one of `rules` must be among the findings."""

    name: str
    rules: frozenset[str]
    spoil: Spoil

    def of(self, plan: Json) -> Json:
        """A spoiled copy of a plan's values."""
        spoiled = copy.deepcopy(plan)
        self.spoil(spoiled)
        return spoiled


def onto(spoiled: list[Corruption]) -> Callable[..., Callable[[Spoil], Spoil]]:
    """A decorator that puts a function on a list, with the rules that may name its fault."""

    def names(*rules: str) -> Callable[[Spoil], Spoil]:
        def listed(spoil: Spoil) -> Spoil:
            spoiled.append(Corruption(name=spoil.__name__, rules=frozenset(rules), spoil=spoil))
            return spoil

        return listed

    return names


def first(found: Iterable[Any]) -> Any:
    """The first of what was found."""
    for victim in found:
        return victim
    raise NoVictim


def two(found: Iterable[Any]) -> tuple[Any, Any]:
    """The first two of what was found."""
    victims = list(found)
    if len(victims) < 2:
        raise NoVictim
    return victims[0], victims[1]


def sources(plan: Json) -> list[Json]:
    return list(plan["sources"])


def cut_source(plan: Json) -> Json:
    return dict_of(first(source for source in sources(plan) if source["cuts"]))


def dict_of(value: Any) -> Json:
    assert isinstance(value, dict)
    return value


def cells(plan: Json, kind: str) -> list[tuple[Json, Json]]:
    return [(area, cell) for area in plan["areas"] for cell in area["cells"] if cell["kind"] == kind]


def fittings(plan: Json, key: str, *states: str) -> list[tuple[Json, Json]]:
    return [(s, item) for s in sources(plan) for item in s[key] if not states or item["state"] in states]


def steps(plan: Json, do: str) -> list[Json]:
    return [step for step in plan["steps"] if step["do"] == do]


def shift(ring: list[list[float]], du: float, dv: float) -> None:
    for spot in ring:
        spot[0] += du
        spot[1] += dv


def drop_step(plan: Json, step: Json) -> None:
    """Take a step out, and renumber so that only the work is missing."""
    gone = step["n"]
    plan["steps"].remove(step)
    for other in plan["steps"]:
        other["after"] = [n - (n > gone) for n in other["after"] if n != gone]
        other["n"] -= other["n"] > gone


def tile_corners(plan: Json, area: Json, cell: Json) -> list[list[float]]:
    (x, y), (px, py) = area["grid"]["origin"], area["grid"]["pitch"]
    x, y = x + cell["col"] * px, y + cell["row"] * py
    w, h = plan["tile"]["length"], plan["tile"]["width"]
    if cell["quarter_turn"]:
        w, h = h, w
    return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]


def leave(plan: Json, area: Json, cell: Json, rule: str) -> None:
    cell["kind"], cell["pieces"] = "left", []
    cell["left"] = [{"outline": tile_corners(plan, area, cell), "rule": rule, "why": "no reason"}]
