"""The plan file's JSON Schema, made from the records that read and write it."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from cutopt.planfile.model import Plan


def plan_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a plan file as cutopt writes it.

    `shared/plan.schema.json` is this, and a test holds the two together. Keys are those of the file (`from`, `copy`).
    """
    schema = Plan.model_json_schema(by_alias=True, mode="serialization")
    # pydantic asks for no key that has a default; a plan file always names its format and version
    schema["required"] = list(schema["properties"])
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema, "title": "cutopt plan file, version 1"}
