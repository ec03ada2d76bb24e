"""The JSON Schema of the record file as text."""

from __future__ import annotations

import json


def schema_text() -> str:
    """Give the JSON Schema (draft 2020-12) of the record file, indented."""
    from unfasten.record.schema import record_schema

    return json.dumps(record_schema(), indent=2, ensure_ascii=False)
