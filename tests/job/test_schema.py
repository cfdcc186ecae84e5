"""The published schema is what the code makes, and its keys are what the reader takes."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

from cutopt.job.schema import job_schema
from cutopt.rules import Rules
from cutopt.shipped import shared_folder, shared_text


def test_the_shipped_schema_is_the_codes() -> None:
    assert json.loads(shared_text("job.schema.json")) == job_schema()


def test_every_table_refuses_unknown_keys() -> None:
    schema = job_schema()
    tables = [schema, schema["properties"]["rules"], *schema["$defs"].values()]
    assert len(tables) >= 15
    assert all(table["additionalProperties"] is False for table in tables)


def test_the_keys_are_those_of_the_format() -> None:
    schema = job_schema()
    assert list(schema["properties"]) == ["format", "version", "job", "tile", "lay", "cut", "rules", "money", "area"]
    assert schema["required"] == ["format", "version", "tile", "area"]
    assert list(schema["properties"]["rules"]["properties"]) == [field.name for field in fields(Rules)]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_tile_is_shipped_or_whole() -> None:
    shipped, whole = job_schema()["$defs"]["TileTable"]["anyOf"]
    assert shipped == {"required": ["use"]}
    assert {"length", "width", "slats", "backers", "screws", "pin_holes", "support"} == set(whole["required"])
    assert whole["properties"]["support"]["required"] == ["pad", "pin_offset", "pin", "height"]


def test_no_ticks_and_no_null_leak_into_the_schema() -> None:
    def nodes(value: Any) -> list[Any]:
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        return [value, *(node for one in inner for node in nodes(one))]

    schema = job_schema()
    assert {"type": "null"} not in nodes(schema)
    kerf = schema["$defs"]["KerfTable"]["properties"]
    assert {name: about["default"] for name, about in kerf.items()} == {
        "table_saw": "3.2 mm",
        "guided_saw": "2.2 mm",
        "jigsaw": "1.5 mm",
    }


def test_references_lead_somewhere() -> None:
    text = json.dumps(job_schema())
    names = {part.split('"')[0] for part in text.split("#/$defs/")[1:]}
    assert names
    assert names <= set(job_schema()["$defs"])


def test_the_data_folder_is_found() -> None:
    assert {"rules.toml", "tiles.toml", "job.schema.json"} <= {path.name for path in shared_folder().iterdir()}
