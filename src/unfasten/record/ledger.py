"""The record as the fold of its ledger: entries in, a plain tree out, at any moment of its past.

Kinds of entry and what the fold makes of them:

=============  =====================================  ============================================================
kind           body                                   effect
=============  =====================================  ============================================================
`put-record`   a whole record's tree                  the record is this, whatever was before
`put`          `{"at": place, "value": {...}}`        the object at `place` is this (`joints.back-screws`, `product`)
`drop`         `{"at": place}`                        there is no object at `place`
`log`          `{"entry": {"do": ...}}`               one more entry of the record's log
`undo`         `{}`; `supersedes` names an entry      that entry is withdrawn; an undo may be undone
any other      anything                               none: remarks, audit
=============  =====================================  ============================================================

A `put`, `drop` or `log` whose `supersedes` names another of them is a correction: it stands in that one's place, in
its order. Of several corrections in one place the latest that is not withdrawn holds; a whole record always stands in
its own place. `put` and `drop` may carry `base`, the id of the entry that the author had last seen for the object
(null: saw none); `Folder.unseen` tells what had come between, and both entries are kept.

How a page uses it: keep one `Folder` per open record, `add` every entry that the store gives, read `state()` for the
tree, `State.origin(place)` for the `base` of the next edit, and `State.log_ids[n]` to correct or undo `log[n]`.
`fold(entries, upto_seq=n).tree` is the record as it stood after entry n. The tree is not checked here: a draft may be
incomplete, which `record.read.read_tree` tells.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Generic, Protocol, TypeVar

from unfasten.record.entrybody import DROP, LOG, PUT, PUT_RECORD, UNDO, split_place

#: kinds that may be corrected in place
CORRECTABLE: Final = frozenset({PUT, DROP, LOG})


class LedgerEntry(Protocol):
    """What the fold needs of an entry. `seq` counts 1, 2, 3 … within the record; `tree` is its body."""

    @property
    def id(self) -> str:
        """Name of the entry."""

    @property
    def seq(self) -> int:
        """Its number."""

    @property
    def kind(self) -> str:
        """Kind of entry."""

    @property
    def supersedes(self) -> str | None:
        """The entry that it corrects or undoes."""

    @property
    def tree(self) -> dict[str, Any]:
        """Its body."""


E = TypeVar("E", bound=LedgerEntry)


@dataclass(frozen=True, slots=True)
class State:
    """A record after entry `seq`: its tree, and where each piece comes from.

    `log_ids[n]` is the id of the entry that holds `tree["log"][n]` (for a log that came with a whole record, that
    record's entry). `origins` names the entry that last put or dropped an object since the whole record `whole`.
    """

    seq: int
    tree: dict[str, Any]
    log_ids: tuple[str, ...]
    origins: Mapping[str, str]
    whole: str | None

    def origin(self, place: str) -> str | None:
        """Give the id of the entry that last said something of the object at `place`."""
        return self.origins.get(place, self.whole)


@dataclass(slots=True)
class _Fold:
    """The state while it is being built; values are shared with the bodies, and never changed."""

    tree: dict[str, Any] = field(default_factory=dict)
    log_ids: list[str] = field(default_factory=list)
    origins: dict[str, str] = field(default_factory=dict)
    whole: str | None = None

    def apply(self, entry: str, kind: str, body: dict[str, Any]) -> None:
        if kind == PUT_RECORD:
            self.whole, self.origins = entry, {}
            self.tree = {k: dict(v) if isinstance(v, dict) else list(v) if k == "log" else v for k, v in body.items()}
            self.log_ids = [entry] * len(self.tree.get("log", ()))
        elif kind == LOG:
            self.tree.setdefault("log", []).append(body["entry"])
            self.log_ids.append(entry)
        elif kind in (PUT, DROP):
            self.origins[body["at"]] = entry
            section, name = split_place(body["at"])
            if kind == PUT and name is None:
                self.tree[section] = body["value"]
            elif kind == PUT:
                self.tree.setdefault(section, {})[name] = body["value"]
            elif name is None:
                self.tree.pop(section, None)
            else:
                self.tree.get(section, {}).pop(name, None)


class Folder(Generic[E]):
    """Folds entries one by one; only after a correction or undo it folds anew, from the last whole record."""

    def __init__(self) -> None:
        self._entries: dict[str, E] = {}
        self._bodies: dict[str, dict[str, Any]] = {}
        self._roots: dict[str, str] = {}
        self._seq = 0
        self._made = _Fold()
        self._is_stale = False

    @property
    def seq(self) -> int:
        """Number of the last entry added, 0 before the first."""
        return self._seq

    def __contains__(self, entry: object) -> bool:
        """Tell whether an entry with this id was added."""
        return entry in self._entries

    def entry(self, entry: str) -> E:
        """Give an entry that was added, by its id; `KeyError` for another."""
        return self._entries[entry]

    def body(self, entry: str) -> Mapping[str, Any]:
        """Give the body of an entry that was added without making it anew: for a look, not to be kept or changed."""
        return self._bodies[entry]

    @property
    def whole(self) -> E | None:
        """The entry of the whole record that the present rests on, None before the first."""
        return None if self._fold.whole is None else self._entries[self._fold.whole]

    def add(self, entry: E) -> None:
        """Add the next entry; entries come in their order, without gap."""
        if entry.seq != self._seq + 1:
            raise ValueError(f"entry {entry.seq} does not follow entry {self._seq}")
        self._seq = entry.seq
        self._entries[entry.id] = entry
        self._bodies[entry.id] = entry.tree
        target = self._entries.get(entry.supersedes or "")
        corrects = target is not None and entry.kind in CORRECTABLE and target.kind in CORRECTABLE
        self._roots[entry.id] = self._roots[target.id] if corrects and target is not None else entry.id
        self._is_stale = self._is_stale or corrects or entry.kind == UNDO
        if not self._is_stale:
            self._made.apply(entry.id, entry.kind, self._bodies[entry.id])

    def state(self) -> State:
        """Give the present state; later entries do not change it, and it may be changed freely."""
        made = self._fold
        return State(self._seq, _copied(made.tree), tuple(made.log_ids), dict(made.origins), made.whole)

    def peek(self) -> Mapping[str, Any]:
        """Give the present tree without copying it: for a look, not to be kept or changed."""
        return self._fold.tree

    def unseen(self, kind: str, body: Mapping[str, Any], supersedes: str | None) -> str | None:
        """Give the id of the entry that the author of a new one cannot have seen, though it concerns the same thing.

        None if there is none. For `put` and `drop` the author has seen `base` (or what is superseded, where the body
        has no `base`); an entry that corrects or undoes has seen the one it names, and that one only.
        """
        if kind in (PUT, DROP) and ("base" in body or supersedes is not None):
            base, held = body.get("base", supersedes), self._fold.origins.get(body["at"], self._fold.whole)
            is_there = self._has(body["at"])
            return None if held == base or (base is None and not is_there) else held
        if supersedes is None or kind not in (LOG, UNDO):
            return None
        return self._between(supersedes)

    def _between(self, target: str) -> str | None:
        undone = self.withdrawn()
        if target in undone:
            return undone[target]
        if self._entries[target].kind not in CORRECTABLE:
            return None
        whole, root = self._fold.whole, self._roots[target]
        if whole is not None and self._entries[root].seq < self._entries[whole].seq:
            return whole
        standing = [one for one, place in self._roots.items() if place == root and one not in undone]
        return None if standing[-1] == target else standing[-1]

    def _has(self, place: str) -> bool:
        section, name = split_place(place)
        return section in self._fold.tree and (name is None or name in self._fold.tree[section])

    def withdrawn(self) -> dict[str, str]:
        """Give each withdrawn entry with the undo that withdrew it; the latest undo is judged first."""
        undone: dict[str, str] = {}
        for entry in reversed(self._entries.values()):
            if entry.kind == UNDO and entry.id not in undone and entry.supersedes is not None:
                undone[entry.supersedes] = entry.id
        return undone

    @property
    def _fold(self) -> _Fold:
        if self._is_stale:
            self._made = self._refolded()
            self._is_stale = False
        return self._made

    def _refolded(self) -> _Fold:
        undone = self.withdrawn()
        standing = {self._roots[one]: one for one in self._entries if one not in undone}
        wholes = [e.seq for e in self._entries.values() if e.kind == PUT_RECORD and e.id not in undone]
        first = wholes[-1] if wholes else 0
        made = _Fold()
        for root, entry in self._entries.items():
            if entry.seq >= first and root in standing:
                holds = standing[root]
                made.apply(holds, self._entries[holds].kind, self._bodies[holds])
        return made


def _copied(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _copied(value) for key, value in node.items()}
    return [_copied(value) for value in node] if isinstance(node, list) else node


def fold(entries: Iterable[LedgerEntry], upto_seq: int | None = None) -> State:
    """Fold a ledger, oldest entry first, up to and with entry `upto_seq` (None: all of it)."""
    folder = Folder[LedgerEntry]()
    for entry in entries:
        if upto_seq is None or entry.seq <= upto_seq:
            folder.add(entry)
    return folder.state()
