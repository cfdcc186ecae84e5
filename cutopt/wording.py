"""How values and near misses are worded in messages."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_MOST_CHARACTERS = 60


def shown(value: object) -> str:
    """A value much as a TOML file has it, shortened, for a message."""
    try:
        text = _toml(value)
    except ValueError:  # Python prints no whole number of more than some thousand digits
        return "a number of very many digits"
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= _MOST_CHARACTERS else text[: _MOST_CHARACTERS - 2] + " …"


def nearest(word: str, known: Iterable[str]) -> str:
    """'did you mean …?' for the known word that is nearest, or nothing."""
    close = difflib.get_close_matches(word[:_MOST_CHARACTERS], list(known), n=1, cutoff=0.7)
    return f"did you mean '{close[0]}'?" if close else ""


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value[: 2 * _MOST_CHARACTERS]}"'
    if isinstance(value, list | tuple):
        inner = ", ".join(_toml(one) for one in value[:_MOST_CHARACTERS])
        return f"[{inner}]"
    if isinstance(value, dict):
        inner = ", ".join(f"{key} = {_toml(one)}" for key, one in list(value.items())[:_MOST_CHARACTERS])
        return f"{{{inner}}}"
    return str(value)
