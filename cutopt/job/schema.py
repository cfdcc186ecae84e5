"""The job file's JSON Schema, made from the code that reads it."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from cutopt.job.anatomy import shipped_tiles
from cutopt.job.raw import Gap, JobFile, Length
from cutopt.rules import rule_units

_TILE_PARTS = ("SlatsTable", "BackersTable", "ScrewsTable", "PinHolesTable", "SupportTable")


def job_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a job file as cutopt reads it.

    `shared/job.schema.json` is this, and a test holds the two together. What a schema cannot say, such as whether
    slats fit a tile, `load_job` checks.
    """
    schema = JobFile.model_json_schema()
    schema["properties"]["rules"] = _rules_schema()
    _allow_shipped_tiles(schema["$defs"])
    for table in (schema, *schema["$defs"].values()):
        table["properties"] = {key: _as_in_toml(value) for key, value in table["properties"].items()}
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema, "title": "cutopt job file, version 1"}


def _rules_schema() -> dict[str, Any]:
    shapes = {
        "length": TypeAdapter(Length).json_schema(),
        "length pair": TypeAdapter(Gap).json_schema(),
        "count": {"type": "integer", "minimum": 0},
        "degrees": {"type": "number", "minimum": 0, "maximum": 90},
        "percent": {"type": "number", "minimum": 0, "maximum": 100},
    }
    number = {"type": "number", "minimum": 0}
    rules = {name: shapes.get(unit, number) for name, unit in rule_units().items()}
    return {"type": "object", "additionalProperties": False, "properties": rules, "default": {}}


def _as_in_toml(about: dict[str, Any]) -> dict[str, Any]:
    """What a key may hold, without null, which TOML has not, and without defaults that only stand for leaving out."""
    if isinstance(about.get("default", {}), dict | None):
        about = {key: value for key, value in about.items() if key != "default"}
    kept = [choice for choice in about.get("anyOf", ()) if choice != {"type": "null"}]
    if len(kept) == 1:
        return {**kept[0], **{key: value for key, value in about.items() if key != "anyOf"}}
    return {**about, "anyOf": kept} if kept else about


def _allow_shipped_tiles(shapes: dict[str, Any]) -> None:
    """A tile that uses a shipped one may leave out any key; otherwise all that have no default are needed."""
    tile = shapes["TileTable"]
    tile["properties"]["use"] = {"enum": list(shipped_tiles())}
    inner = {part: shapes[part].pop("required") for part in _TILE_PARTS}
    parts = {
        name: {"required": inner[part]}
        for name, about in tile["properties"].items()
        for part in _TILE_PARTS
        if about.get("$ref", "").endswith(f"/{part}")
    }
    tile["anyOf"] = [{"required": ["use"]}, {"required": tile.pop("required"), "properties": parts}]
