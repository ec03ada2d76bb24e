"""Adding measurements to the text of a record, so that its comments and layout stay."""

from __future__ import annotations

import json
from collections.abc import Mapping

import yaml

from unfasten.evidence.errors import DataError
from unfasten.record.measurement import Measurement
from unfasten.record.read import read_record
from unfasten.record.record import Record
from unfasten.record.write import to_yaml

_KEY = "measurements"


def with_measurements(data: bytes, name: str, new: Mapping[str, Measurement], wanted: Record) -> bytes:
    """The bytes of the file with the new measurements; raises `DataError` if it would not read back as `wanted`."""
    text = data.decode("utf-8-sig")
    fields = {key: one.model_dump(mode="json", exclude_defaults=True) for key, one in new.items()}
    if name.lower().endswith(".json") or text.lstrip().startswith("{"):
        tree = json.loads(text)
        tree[_KEY] = {**tree.get(_KEY, {}), **fields}
        tries = [json.dumps(tree, indent=2, ensure_ascii=False) + "\n"]
    else:
        tries = [again for again in (_added(text, fields), to_yaml(wanted)) if again is not None]
    for again in tries:
        if read_record(again.encode("utf-8"), name).record == wanted:
            return again.encode("utf-8")
    message = "the record with the measurement would not read back as the same record"
    raise DataError("photo.not-the-same", name, message, "enter the measurement by hand")


def _added(text: str, fields: Mapping[str, Mapping[str, object]]) -> str | None:
    """The text with lines of their own for the new entries; None where the section is written on one line."""
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    if not isinstance(root, yaml.MappingNode) or root.flow_style:
        return None
    lines = "".join(f"  {key}: {_flow(value)}\n" for key, value in fields.items())
    held = next((value for key, value in root.value if key.value == _KEY), None)
    if held is None:
        return f"{text if text.endswith(chr(10)) else text + chr(10)}\n{_KEY}:\n{lines}"
    if not isinstance(held, yaml.MappingNode) or held.flow_style or not held.value or held.start_mark.column != 2:
        return None
    at = held.value[0][0].start_mark.index - 2
    return text[:at] + lines + text[at:]


def _flow(fields: Mapping[str, object]) -> str:
    return yaml.safe_dump(
        dict(fields), default_flow_style=True, sort_keys=False, allow_unicode=True, width=100_000
    ).strip()
