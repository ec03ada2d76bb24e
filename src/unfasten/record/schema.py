"""The JSON Schema (draft 2020-12) of the record file, made from the models."""

from __future__ import annotations

from typing import Any, Final

from unfasten.record.record import FORMAT, Record

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
#: what the reader checks beyond the schema
BEYOND: Final = (
    "A schema cannot follow names. Beyond it, the reader checks: that every tool, part, joint, bundle and swing named "
    "is defined (still_covers: as one thing only); that no name stands twice in a list; that exactly one part stays "
    "and is neither bundled, swung nor lifted; that a swing keeps joints of its own part; that a lift in the log names "
    "either a part or a bundle, and a found entry one of joint, part and bundle, with 'under' only for joints, "
    "'behind' only for the others and a way that exists; that the product is not its own predecessor; that the "
    "corners of a call-out make its shape, and that what it is about is defined; that a day exists in the calendar; "
    "and that a key stands once. It takes whole numbers only without a decimal point and no "
    "control characters in text, and it forgives blanks around a quantity."
)


def record_schema() -> dict[str, Any]:
    """Give the JSON Schema of a record as a tree."""
    tree = _closed(Record.model_json_schema(by_alias=True))
    about = {"title": f"Record of a disassembly ({FORMAT})", "description": "One product: its parts, joints and log."}
    return {"$schema": DIALECT, "$comment": BEYOND, **tree, **about}


def _closed(node: Any) -> Any:
    """Refuse keys that are no ids in mappings by id; drop titles that repeat the keys, and what is no JSON Schema."""
    if isinstance(node, list):
        return [_closed(one) for one in node]
    if not isinstance(node, dict):
        return node
    out = {key: _closed(value) for key, value in node.items() if key != "discriminator" and not _is_title(key, value)}
    if "patternProperties" in out:
        out.setdefault("additionalProperties", False)
    return out


def _is_title(key: str, value: Any) -> bool:
    return key == "title" and isinstance(value, str)
