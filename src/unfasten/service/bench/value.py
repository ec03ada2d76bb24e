"""Checking one object before it is put: the record that would come of it must not be worse than it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from unfasten.evidence.errors import DataError
from unfasten.record.read import read_tree


def check_value(tree: Mapping[str, Any], section: str, name: str, value: Mapping[str, Any]) -> None:
    """Raise `DataError` with the first finding about an object, as it would stand in the record's tree."""
    place = f"{section}.{name}"
    made = {**tree, section: {**(tree.get(section) or {}), name: value}}
    own = [finding for finding in read_tree(made).findings if finding.at.startswith(place)]
    if own:
        more = f" (and {len(own) - 1} more)" if len(own) > 1 else ""
        raise DataError(own[0].code, own[0].at, f"{own[0].message}{more}", own[0].remedy)
