"""Plan file ↔ records."""

from __future__ import annotations

import json
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
        if path.stat().st_size > MOST_BYTES:
            raise BadInput(
                [
                    Mistake(
                        file=name,
                        key="",
                        value=f"{path.stat().st_size} bytes",
                        rule="a plan file has at most 400 MB",
                        remedy="give the plan.json that `cutopt plan` wrote",
                    )
                ]
            )
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(
            [
                Mistake(
                    file=name,
                    key="",
                    value="",
                    rule=f"cannot be read: {error}",
                    remedy="give a plan.json that you may read",
                )
            ]
        ) from error
    try:
        return Plan.model_validate_json(text)
    except ValidationError as error:
        raise BadInput([_mistake(name, dict(item)) for item in error.errors(include_url=False)]) from error


def _mistake(name: str, item: dict[str, object]) -> Mistake:
    where = item.get("loc")
    key = ".".join(str(step) for step in where) if isinstance(where, tuple) else ""
    return Mistake(
        file=name,
        key=key,
        value=repr(item.get("input"))[:60],
        rule=str(item.get("msg")),
        remedy="write it as the plan file's schema says (shared/plan.schema.json)",
    )
