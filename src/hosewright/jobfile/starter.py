"""What an editor needs to help with a job file: a starter to begin with, and a JSON Schema."""

from __future__ import annotations

from importlib import resources
from typing import Any

from hosewright.jobfile.models import JobTables


def starter() -> str:
    """A commented job file that is right as it stands."""
    return (resources.files("hosewright.jobfile") / "data" / "starter.toml").read_text(encoding="utf-8")


def schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a job file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **JobTables.model_json_schema(by_alias=True),
        "title": "hosewright job",
    }
