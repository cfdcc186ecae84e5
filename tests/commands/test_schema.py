"""The published schema of the plan file is the one that the code gives."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

from cutopt.planfile.model import Backer, Cut, Plan, Step
from cutopt.planfile.schema import plan_schema
from cutopt.shipped import shared_folder, shared_text


def published() -> dict[str, Any]:
    schema: dict[str, Any] = json.loads(shared_text("plan.schema.json"))
    return schema


def test_published_schema_is_the_codes_own() -> None:
    assert published() == plan_schema(), (
        "shared/plan.schema.json is out of date: DEVELOPERS.md says how to write it anew"
    )


def test_it_is_draft_2020_12() -> None:
    # the dialect's name as JSON Schema draft 2020-12, core, section 8.1.1 gives it
    assert published()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_key_of_a_plan_is_asked_for() -> None:
    schema = published()
    assert set(schema["required"]) == set(Plan.model_fields)
    assert schema["properties"]["format"]["const"] == "cutopt-plan"
    assert schema["additionalProperties"] is False


def test_keys_are_those_of_the_file() -> None:
    records = published()["$defs"]
    assert "from" in records["Backer"]["properties"]
    assert "from_" not in records["Backer"]["properties"]
    assert "copy" in records["Step"]["properties"]
    assert {Backer.model_fields["from_"].alias, Step.model_fields["copy_"].alias} == {"from", "copy"}


def test_a_choice_lists_its_values() -> None:
    saws = get_args(Cut.model_fields["saw"].annotation)
    assert tuple(published()["$defs"]["Cut"]["properties"]["saw"]["enum"]) == saws


def test_shipped_data_is_at_the_top_of_the_checkout() -> None:
    assert shared_folder() == Path(__file__).parents[2] / "shared"
