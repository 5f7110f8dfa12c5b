"""The JSON Schema of the mast file. Write it anew with ``python -m mastcheck.files.publish``."""

from __future__ import annotations

import json
from typing import Any

from mastcheck.files.materials import DATA

SCHEMA_ID = "urn:mastcheck:mast-file:1"
"""The number goes up when a file that was read before no longer is; new keys leave it."""


def mast_file_schema() -> dict[str, Any]:
    """JSON Schema of the mast file (2020-12), from the types that read it."""
    from mastcheck.files.schema import MastFile

    schema = _tidied(MastFile.model_json_schema())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID, **schema}


def main() -> None:
    """Write ``mastcheck/data/mast-file.schema.json``."""
    text = json.dumps(mast_file_schema(), indent=2, ensure_ascii=False) + "\n"
    (DATA / "mast-file.schema.json").write_text(text, encoding="utf-8")


def _tidied(schema: Any) -> Any:
    """The schema as an editor should see it.

    TOML has no null, and defaults in SI are no text with a unit: both are left out, with the
    titles that only repeat a key's name.
    """
    if isinstance(schema, list):
        return [_tidied(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    if {"type": "null"} in schema.get("anyOf", []):
        options = [option for option in schema["anyOf"] if option != {"type": "null"}]
        rest = {k: v for k, v in schema.items() if k != "anyOf"}
        schema = {**rest, **(options[0] if len(options) == 1 else {"anyOf": options})}
    textual = schema.get("type") in ("string", "array", "object") and "enum" not in schema
    drop = {"default"} if textual or schema.get("default", 0) is None or "anyOf" in schema else set()
    if "$ref" in schema:
        drop.add("default")
    if "properties" not in schema:
        drop.add("title")
    return {
        key: {k: _tidied(v) for k, v in value.items()} if key == "properties" else _tidied(value)
        for key, value in schema.items()
        if key not in drop
    }


if __name__ == "__main__":
    main()
