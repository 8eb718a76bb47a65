"""The JSON Schema of program files, for editors of TOML: generated from the models, never written by hand."""

import json
from typing import Any

from holdtimer.script.models import Program

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def program_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of program file format 1."""
    schema = _plain(Program.model_json_schema())
    del schema["title"], schema["description"]
    return {"$schema": _DIALECT, "title": "holdtimer program, format 1", **schema}


def schema_text() -> str:
    """Return the schema as the text of its file."""
    return json.dumps(program_schema(), indent=2, ensure_ascii=False) + "\n"


def _plain(node: Any) -> Any:
    """Drop what TOML can't say (null), and titles that only repeat a key."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    plain = {key: _plain(value) for key, value in node.items()}
    for name, prop in plain.get("properties", {}).items():
        plain["properties"][name] = {key: value for key, value in prop.items() if key != "title"}
    if plain.get("default", ...) is None:
        del plain["default"]
    choices = [choice for choice in plain.get("anyOf", []) if choice != {"type": "null"}]
    if len(choices) == 1:
        del plain["anyOf"]
        plain |= choices[0]
    return plain
