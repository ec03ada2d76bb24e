"""Which model of the record, and so which keys, belong at a place of the tree."""

from __future__ import annotations

from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from unfasten.evidence.place import Path
from unfasten.record.record import Record
from unfasten.record.types import Noun


def model_at(tree: Any, path: Path) -> type[Noun] | None:
    """Give the model whose keys stand at `path`, or None where no model does.

    >>> model_at({}, ("parts", "battery", "lift")).__name__
    'Lift'
    """
    kind = kind_at(tree, path)
    return kind if isinstance(kind, type) and issubclass(kind, Noun) else None


def kind_at(tree: Any, path: Path) -> Any:
    """Give the type of what may stand at `path`: a model, a `dict` or `tuple` with its arguments, or another type."""
    kind: Any = Record
    for step in path:
        tree = _child(tree, step)
        kind = _step(kind, step, tree)
    return kind


def keys_of(model: type[Noun]) -> list[str]:
    """Keys that a model allows, as a file writes them."""
    return [info.alias or name for name, info in model.model_fields.items()]


def _child(tree: Any, step: str | int) -> Any:
    if isinstance(tree, dict):
        return tree.get(step)
    return tree[step] if isinstance(tree, list) and isinstance(step, int) and step < len(tree) else None


def _step(kind: Any, step: str | int, node: Any) -> Any:
    """Give the type of the child `step` of something of type `kind`; `node` tells the members of a union apart."""
    if isinstance(kind, type) and issubclass(kind, Noun):
        fields = {info.alias or name: info.annotation for name, info in kind.model_fields.items()}
        return _plain(fields.get(str(step)), node)
    arguments = get_args(kind)
    if get_origin(kind) is dict:
        return _plain(arguments[1], node)
    if get_origin(kind) is tuple:
        return _plain(arguments[0], node)
    return None


def _plain(kind: Any, node: Any) -> Any:
    """Strip `Annotated` and `None`, and choose the member of a union that `do` names."""
    while get_origin(kind) is Annotated:
        kind = get_args(kind)[0]
    if get_origin(kind) not in (Union, UnionType):
        return kind
    members = [_plain(member, node) for member in get_args(kind) if member is not NoneType]
    if len(members) == 1:
        return members[0]
    return next((member for member in members if _does(member, node)), members[0])


def _does(member: Any, node: Any) -> bool:
    if not (isinstance(member, type) and issubclass(member, Noun) and isinstance(node, dict)):
        return False
    do = member.model_fields["do"].annotation
    return get_origin(do) is Literal and node.get("do") in get_args(do)
