"""How the plans of `worked_plans.py` are spoiled: the plan, the way, and the rules that may name it."""

from __future__ import annotations

from collections.abc import Callable

from tests.checks.spoiling import Corruption, Json, Spoil

Maker = Callable[[], Json]
Listed = tuple[Maker, Corruption]


def spoils_onto(spoiled: list[Listed]) -> Callable[..., Callable[[Spoil], Spoil]]:
    """A decorator that lists a way to spoil one plan."""

    def spoils(made: Maker, *rules: str) -> Callable[[Spoil], Spoil]:
        def listed(spoil: Spoil) -> Spoil:
            spoiled.append((made, Corruption(name=spoil.__name__, rules=frozenset(rules), spoil=spoil)))
            return spoil

        return listed

    return spoils


def source(plan: Json) -> Json:
    """The one tile that is cut."""
    found: Json = plan["sources"][0]
    return found
