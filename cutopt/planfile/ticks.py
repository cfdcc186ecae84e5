"""The file of ticks that the cut book's page saves: which steps are done, and of which plan."""

from __future__ import annotations

import hashlib
import json
from typing import Literal

from pydantic import Field

from cutopt.planfile.model import Plan, Record, Texts


class Tick(Record):
    """A step, by its number, done on one copy of its source: 1 to the source's `uses`."""

    step: int
    copy_: int = Field(alias="copy")


class Ticks(Record):
    """A whole file of ticks. `plan` is `digest(plan)`; `other` are the page's boxes beside the steps, for the page."""

    format: Literal["cutopt-ticks"] = "cutopt-ticks"
    version: Literal[1] = 1
    plan: str
    done: tuple[Tick, ...]
    other: Texts = ()


def digest(plan: Plan) -> str:
    """The sha256, in hexadecimal, of the plan file's JSON without the spaces and line ends between its parts."""
    records = plan.model_dump(mode="json", by_alias=True)
    text = json.dumps(records, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()
