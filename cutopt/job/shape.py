"""A table of the job file → its shape in `cutopt.job.raw`, with every mistake in the trade's words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from cutopt.job.ledger import Ledger
from cutopt.job.raw import Reading, Table
from cutopt.wording import nearest

Shape = TypeVar("Shape", bound=Table)
Step = str | int

# keys that a later version reads, and what to give until then
LATER = {
    "tape": "give the area's corners",
    "path": "give the area's corners",
    "outline": "give the area's corners",
    "stock": "leave it out, and all pieces come from new tiles",
}


def read_table(shape: type[Shape], value: object, key: str, ledger: Ledger, reading: Reading) -> Shape | None:
    """The table as its shape, or None where a key that it needs is missing or wrong.

    Keys that are wrong are noted and then left out, so that the rest can still be checked in the same run.
    """
    try:
        return shape.model_validate(value, context=reading)
    except ValidationError as error:
        faults: list[dict[str, Any]] = [dict(fault) for fault in error.errors(include_url=False)]
    for fault in faults:
        _note(shape, fault, key, ledger)
    if not isinstance(value, dict):
        return None
    wrong = {fault["loc"][0] for fault in faults if fault["loc"]}
    try:
        return shape.model_validate({k: v for k, v in value.items() if k not in wrong}, context=reading)
    except ValidationError:
        return None


def unknown_key(key: str, known: Sequence[str], path: str, value: object, ledger: Ledger) -> None:
    """Note a key that is not read here, with the one that was likely meant."""
    if key in LATER:
        ledger.add(path, value, "is not read yet by this version", LATER[key])
        return
    ledger.add(path, value, "is not a key here", nearest(key, known) or f"the keys here are {', '.join(known)}")


def _note(shape: type[Table], fault: dict[str, Any], key: str, ledger: Ledger) -> None:
    steps: tuple[Step, ...] = tuple(step for step in fault["loc"] if not str(step).startswith("("))
    path = _path(key, steps)
    value = None if fault["type"] == "missing" else fault["input"]
    if fault["type"] == "extra_forbidden":
        unknown_key(str(steps[-1]), _keys_at(shape, steps[:-1]), path, value, ledger)
        return
    if fault["type"] == "missing" and steps == ("corners",) and any(later in fault["input"] for later in LATER):
        return  # the area is given in a way that a later version reads, and that is noted already
    rule, remedy = _wording(fault, steps)
    ledger.add(path, value, rule, remedy)


def _path(key: str, steps: Sequence[Step]) -> str:
    """area[0].post[1].size: entries of lists are counted from 0, as corners and edges are."""
    text = key
    for step in steps:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def _keys_at(shape: type[BaseModel], steps: Sequence[Step]) -> list[str]:
    """The keys of the table that these steps lead to."""
    for step in steps:
        if isinstance(step, str):
            inner = _table_in(shape.model_fields[step].annotation)
            assert inner is not None, step
            shape = inner
    return list(shape.model_fields)


def _table_in(annotation: Any) -> type[BaseModel] | None:
    """The shape inside a type such as list[Annotated[EdgeTable, …]] | None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for one in get_args(annotation) if (found := _table_in(one))), None)


_PLAIN = {
    "missing": ("is missing", "add it"),
    "int_type": ("is a whole number", "write it without quotes and decimals"),
    "float_type": ("is a number", "write it without quotes"),
    "finite_number": ("is a finite number", "write the number that you mean"),
    "string_type": ("is text", "write it in quotes"),
    "list_type": ("is a list", "write it in square brackets"),
    "model_type": ("is a table", "write its keys in braces, or under a heading of its own"),
    "model_attributes_type": ("is a table", "write its keys in braces, or under a heading of its own"),
    "dict_type": ("is a table", "write its keys in braces, or under a heading of its own"),
}

_BOUNDS = {
    "greater_than_equal": ("is {} or more", "ge"),
    "greater_than": ("is more than {}", "gt"),
    "less_than_equal": ("is {} or less", "le"),
    "less_than": ("is less than {}", "lt"),
    "too_short": ("has {} entries or more", "min_length"),
    "too_long": ("has {} entries or fewer", "max_length"),
    "string_too_short": ("has {} characters or more", "min_length"),
    "string_too_long": ("has {} characters or fewer", "max_length"),
}


def _wording(fault: dict[str, Any], steps: Sequence[Step]) -> tuple[str, str]:
    """The rule that a fault breaks, and its remedy."""
    kind, given = str(fault["type"]), fault.get("ctx", {})
    if kind == "refusal":
        return given["rule"], given["remedy"]
    if kind == "literal_error":
        return _choice(fault, given)
    if kind in ("too_short", "too_long") and given.get("min_length", given.get("max_length")) == 2:
        return "has two entries", "write both, in square brackets"
    if kind == "too_short" and steps[-1] == "corners":
        return "an outline has 3 corners or more", "add the corners that are missing"
    if kind in _BOUNDS:
        text, bound = _BOUNDS[kind]
        return text.format(f"{given[bound]:g}"), "change it"
    return _PLAIN.get(kind, (str(fault["msg"]), "see the job file's schema (shared/job.schema.json)"))


def _choice(fault: dict[str, Any], given: dict[str, Any]) -> tuple[str, str]:
    allowed = re.findall(r"'([^']*)'", given["expected"]) or [given["expected"]]
    near = nearest(fault["input"], allowed) if isinstance(fault["input"], str) else ""
    return f"is one of {', '.join(allowed)}" if len(allowed) > 1 else f"is {allowed[0]}", near or "write one of these"
