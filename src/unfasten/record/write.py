"""Writing a record as YAML text that reads back to the equal record."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType, NoneType
from typing import Any, Final

import yaml

from unfasten.evidence.plain import PlainError, plain_value
from unfasten.record.record import Record

_WIDTH: Final = 110
_TAG: Final = "tag:yaml.org,2002:"
_TAGS: Final = MappingProxyType({str: "str", int: "int", float: "float", bool: "bool", NoneType: "null"})


class _RecordDumper(yaml.SafeDumper):
    """Leaves a text unquoted only if it reads as text under YAML 1.2; writes no aliases."""

    def resolve(self, kind: Any, value: Any, implicit: Any) -> Any:
        """Give the tag that a reader would find by itself."""
        if kind is not yaml.ScalarNode or not implicit[0]:
            return super().resolve(kind, value, implicit)  # type: ignore[no-untyped-call]
        try:
            return _TAG + _TAGS[type(plain_value(value))]
        except PlainError:
            return _TAG + "float"

    def ignore_aliases(self, data: object) -> bool:
        """Write equal lists out each time."""
        return True


def to_yaml(record: Record) -> str:
    """Give the record as YAML text; keys that hold their default are left out, and the order is kept."""
    tree = record.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    return tree_to_yaml({"format": record.format, **tree})


def tree_to_yaml(tree: Mapping[str, Any]) -> str:
    """Give a plain tree as YAML text, as it is: for a record that is not complete yet."""
    return yaml.dump(
        dict(tree),
        Dumper=_RecordDumper,
        sort_keys=False,
        allow_unicode=True,
        width=_WIDTH,
        default_flow_style=None,
    )
