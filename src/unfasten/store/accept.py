"""Taking drafts into a ledger: the same rules for every store."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from unfasten.evidence.errors import DataError
from unfasten.record.entrybody import BODY_LIMIT, DEPTH_LIMIT, DROP, LOG, PUT, PUT_RECORD, UNDO, check_body
from unfasten.record.ledger import CORRECTABLE, Folder
from unfasten.store.entry import Draft, Entry, Kept, body_of, draft_of, placed, refuse_clash, unknown_entry

_MAKE_RECORD: Final = frozenset({PUT_RECORD, PUT, DROP, LOG, UNDO})


class EntriesInvalid(DataError):  # noqa: N818 - names the outcome
    """Entries were refused and none of them kept; `errors` says why, each with the entry."""

    def __init__(self, record: str, errors: Sequence[DataError]) -> None:
        self.errors = tuple(errors)
        count = f"{len(errors)} error{'' if len(errors) == 1 else 's'} in the entries sent, none was kept"
        super().__init__("store.bad-entries", record, count, "mend each and send them again")

    def __str__(self) -> str:
        """List every error, and below them the sentence that counts them."""
        return "\n".join([*(f"  {error} [{error.code}]" for error in self.errors), super().__str__()])

    def as_json(self) -> dict[str, object]:
        """Give the JSON error shape with all errors."""
        return super().as_json() | {"findings": [error.as_json() for error in self.errors]}


def check_drafts(drafts: Sequence[Draft]) -> None:
    """Raise `EntriesInvalid` with all that is wrong with the drafts themselves; `ValueError` for several records."""
    if len({draft.record for draft in drafts}) > 1:
        raise ValueError("one call appends to one record")
    errors: list[DataError] = []
    for number, draft in enumerate(drafts, 1):
        where = f"entry {number} ({draft.id})"
        if len(draft.body) > BODY_LIMIT:
            message = f"its body has more than {BODY_LIMIT} characters"
            errors.append(DataError("ledger.too-large", where, message, "record one product per record"))
            continue
        if not _is_named(draft):
            message = "its id is no UUID, or its time has no offset"
            errors.append(DataError("ledger.bad-name", where, message, "make it with `draft_of`"))
        tree = _tree(draft)
        if tree is None:
            remedy = "make it with `draft_of` from plain values"
            errors.append(DataError("ledger.bad-body", where, "its body is not JSON in the compact form", remedy))
            continue
        errors += check_body(draft.record, draft.kind, tree, where)
        if draft.kind == UNDO and draft.supersedes is None:
            errors.append(DataError("ledger.bad-target", where, "it undoes nothing", "name the entry in `supersedes`"))
    if errors:
        raise EntriesInvalid(drafts[0].record, errors)


def check_end(record: str, folder: Folder[Entry], after: int | None) -> None:
    """Raise `DataError` if a ledger was to end with number `after` and does not."""
    if after is not None and folder.seq != after:
        message = f"its ledger has {folder.seq} entries by now, where {after} were expected"
        raise DataError("store.gone-on", record, message, "look at what was added, and try again")


def _is_named(draft: Draft) -> bool:
    try:
        return str(UUID(draft.id)) == draft.id and datetime.fromisoformat(draft.at).tzinfo is not None
    except ValueError:
        return False


def _tree(draft: Draft) -> dict[str, Any] | None:
    """The body as a tree; None unless it is an object in the form in which `body_of` writes it, and UTF-8 holds it."""
    try:
        tree = draft.tree
        "".join((draft.body, draft.kind, draft.by or "")).encode("utf-8")
        is_compact = isinstance(tree, dict) and not _is_deep(tree) and body_of(tree) == draft.body
    except (ValueError, RecursionError):
        return None
    return tree if is_compact and "\0" not in (draft.by or "") else None


def _is_deep(tree: Any) -> bool:
    level = [tree]
    for _ in range(DEPTH_LIMIT):
        level = [child for node in level for child in _children(node)]
    return bool(level)


def _children(node: Any) -> Iterable[Any]:
    if isinstance(node, dict):
        return node.values()
    return node if isinstance(node, list) else ()


def first_draft(tree: Mapping[str, Any], *, entry: UUID, at: datetime, by: str | None) -> Draft:
    """Make the checked draft of an entry that holds a whole record."""
    product = tree.get("product")
    record = product.get("id") if isinstance(product, dict) else None
    draft = draft_of(record if isinstance(record, str) else "", PUT_RECORD, tree, entry=entry, at=at, by=by)
    check_drafts([draft])
    return draft


def following(draft: Draft, held: Entry | None) -> Draft:
    """Let the draft of a whole record name the one that it follows."""
    return replace(draft, supersedes=None if held is None else held.id)


def accept(
    folder: Folder[Entry],
    drafts: Sequence[Draft],
    held: Mapping[str, Entry],
    past: Callable[[int], Folder[Entry]],
    *,
    tell: bool = True,
) -> list[Kept]:
    """Add checked drafts to the ledger that `folder` has folded, and tell what became of each.

    `held` are the entries of any record that have the id of a draft; `past` folds this ledger up to a number. Clashes
    are looked for only with `tell`. Raises
    `DataError` for a draft that cannot be kept; the folder is then of no more use.
    """
    known = dict(held)
    out = []
    for draft in drafts:
        if draft.id in known:
            entry = refuse_clash(known[draft.id], draft)
            asks = draft.supersedes is not None or draft.kind in (PUT, DROP)
            out.append(Kept(entry, False, _clash(past(entry.seq - 1), draft) if asks and tell else None))
            continue
        _check_target(folder, draft)
        clash = _clash(folder, draft) if tell else None
        entry = known[draft.id] = placed(draft, folder.seq + 1)
        folder.add(entry)
        if tell and draft.kind in _MAKE_RECORD:
            _check_something_left(folder, draft)
        out.append(Kept(entry, True, clash))
    _check_something_left(folder, drafts[-1])
    return out


def _check_something_left(folder: Folder[Entry], draft: Draft) -> None:
    if "product" not in folder.peek():
        raise DataError("ledger.no-record", draft.id, "it would leave nothing of the record", "undo something else")


def _clash(folder: Folder[Entry], draft: Draft) -> Entry | None:
    unseen = folder.unseen(draft.kind, draft.tree, draft.supersedes)
    return None if unseen is None else folder.entry(unseen)


def _check_target(folder: Folder[Entry], draft: Draft) -> None:
    """Refuse to correct or undo what is not there, or what cannot be corrected by this kind of entry."""
    if draft.supersedes is None:
        return
    if draft.supersedes not in folder:
        raise unknown_entry(draft.supersedes)
    kind = folder.entry(draft.supersedes).kind
    if draft.kind in (UNDO, PUT_RECORD):
        fits = draft.kind == UNDO or kind == PUT_RECORD
    else:
        fits = kind in CORRECTABLE if draft.kind in CORRECTABLE else kind not in _MAKE_RECORD
    if not fits:
        message = f"{draft.kind} cannot take the place of {kind}"
        raise DataError("ledger.bad-target", draft.id, message, "name an entry of the same kind, or undo it")
