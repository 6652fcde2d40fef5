"""The lesson file's fields as JSON Schema, for editors that complete and check while typing."""

import json
from typing import Any

from reporter.session.schema import Session

# pydantic leaves the limits of a field with a reader of its own under these names.
_LIMITS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}


def lesson_schema() -> str:
    """Return the JSON Schema of a lesson file, as text that ends with a line break."""
    schema = _with_limits(Session.model_json_schema(mode="validation"))
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "lesson file",
        **{key: part for key, part in schema.items() if key != "title"},
    }
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def _with_limits(schema: Any) -> Any:  # noqa: ANN401 - JSON of any kind
    """Return the schema with limits under the names JSON Schema knows."""
    if isinstance(schema, list):
        return [_with_limits(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    is_number = schema.get("type") in ("integer", "number")
    return {
        (_LIMITS.get(key, key) if is_number else key): _with_limits(part)
        for key, part in schema.items()
    }
