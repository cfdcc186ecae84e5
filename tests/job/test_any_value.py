"""Whatever stands at any place of a job file, it is read or refused in words: nothing else escapes."""

from __future__ import annotations

import copy
import datetime
import math
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from cutopt.errors import BadInput
from cutopt.job import Job
from cutopt.job.ledger import Ledger
from cutopt.job.reading import read_tables

JOBS = Path(__file__).parents[2] / "fixtures" / "jobs"
ODD: list[Any] = [
    True, 0, 1, -1, 10**30, 2**60000, 1e300, math.nan, "", "-3 mm", "nan", "x" * 500, "\x00\n", [], [1, 2], [1, 2, 3],
    [[0, 0]] * 3, {}, {"use": []}, {"kind": "wall", "gap": [1, 0]}, [{}], [{"x": 1}], datetime.date(2026, 1, 1),
]  # fmt: skip


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value of a file, tables and lists too."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inner:
        yield (*path, key)
        yield from places(one, (*path, key))


def outcome(data: dict[str, Any]) -> Job | str:
    ledger = Ledger("job.toml")
    job = read_tables(data, "job", "", ledger)
    try:
        ledger.close()
    except BadInput as error:
        told = all(mistake.rule and mistake.remedy for mistake in error.mistakes)
        return str(error) if told else pytest.fail(str(error))
    assert job is not None
    return job


@pytest.mark.parametrize("name", ["own-tile", "balconies"])
def test_any_value_at_any_place(name: str) -> None:
    whole = tomllib.loads((JOBS / f"{name}.toml").read_text(encoding="utf-8"))
    refused = 0
    for path in places(whole):
        for odd in ODD:
            data = copy.deepcopy(whole)
            holder: Any = data
            for step in path[:-1]:
                holder = holder[step]
            holder[path[-1]] = odd
            refused += isinstance(outcome(data), str)
    assert refused > 500  # most odd values are wrong in most places


@pytest.mark.parametrize("name", ["own-tile", "balconies"])
def test_any_key_left_out(name: str) -> None:
    whole = tomllib.loads((JOBS / f"{name}.toml").read_text(encoding="utf-8"))
    for path in places(whole):
        data = copy.deepcopy(whole)
        holder: Any = data
        for step in path[:-1]:
            holder = holder[step]
        del holder[path[-1]]
        outcome(data)
