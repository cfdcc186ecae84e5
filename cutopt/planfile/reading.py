"""Plan file ↔ records."""

from __future__ import annotations

import json
import stat
from pathlib import Path

from pydantic import ValidationError

from cutopt.errors import BadInput, Mistake
from cutopt.planfile.model import Plan

MOST_BYTES = 400_000_000


def dump(plan: Plan) -> str:
    """The plan as JSON text: the same records give the same bytes."""
    return json.dumps(plan.model_dump(mode="json", by_alias=True), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def load(path: Path) -> Plan:
    """Read a plan file.

    Raises `BadInput` with each mistake where the file is not a plan file of this version.
    """
    name = str(path)
    try:
        return Plan.model_validate_json(_text(path))
    except ValidationError as error:
        raise BadInput([_mistake(name, dict(item)) for item in error.errors(include_url=False)]) from error


def _text(path: Path) -> str:
    """What a file says, without its byte order mark. Only plain files are opened: pipes and devices may never end."""
    try:
        facts = path.stat()
        if not stat.S_ISREG(facts.st_mode):
            raise _unread(path, _kind(facts.st_mode), "is no file that can be read whole")
        if facts.st_size > MOST_BYTES:
            raise _unread(path, f"{facts.st_size} bytes", "a plan file has at most 400 MB")
        return path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:  # a name with a null character, bytes that are no UTF-8
        raise _unread(path, "", f"cannot be read: {escaped(str(error))}") from error


def _unread(path: Path, value: str, rule: str) -> BadInput:
    remedy = "give the plan.json that `cutopt plan` wrote"
    return BadInput([Mistake(file=escaped(str(path)), key="", value=value, rule=rule, remedy=remedy)])


def _kind(mode: int) -> str:
    """What it is that is no plain file."""
    if stat.S_ISDIR(mode):
        return "a folder"
    if stat.S_ISFIFO(mode):
        return "a pipe"
    return "a socket" if stat.S_ISSOCK(mode) else "a device"


def escaped(text: str) -> str:
    """A text on one line, with characters that would move a terminal's cursor written out."""
    return "".join(one if one.isprintable() else one.encode("unicode_escape").decode("ascii") for one in text)


def _mistake(name: str, item: dict[str, object]) -> Mistake:
    where = item.get("loc")
    key = ".".join(str(step) for step in where) if isinstance(where, tuple) else ""
    return Mistake(
        file=escaped(name),
        key=escaped(key),
        value=repr(item.get("input"))[:60],
        rule=escaped(str(item.get("msg"))),
        remedy="write it as the plan file's schema says (shared/plan.schema.json)",
    )
