"""Where the log contradicts the model: the log is carried out entry by entry, whatever the model says of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from unfasten.evidence.place import Path, listed, shown
from unfasten.record.fold import fold_log, lift_of
from unfasten.record.log import Lifted, Released, Swung
from unfasten.record.place import Remark
from unfasten.record.record import Record
from unfasten.record.types import Cover

_ORDER: Final = "mend the order of the log"
_PRODUCT: Final = ""


def contradiction_remarks(record: Record) -> Iterator[Remark]:
    """Yield a remark for each entry of the log that the model, with what was found folded in, does not allow."""
    bench = _Bench(fold_log(record))
    for index, entry in enumerate(record.log):
        path = ("log", index)
        if isinstance(entry, Released):
            yield from bench.release(path, entry.joint, entry.way)
        elif isinstance(entry, Swung):
            yield from bench.swing(path, entry.swing)
        elif isinstance(entry, Lifted) and entry.part is not None:
            yield from bench.lift_part(path, entry.part)
        elif isinstance(entry, Lifted) and entry.bundle is not None:
            yield from bench.lift_bundle(path, entry.bundle)
    yield from _clock(record)


class _Bench:
    """The product as the log takes it apart: `piece` of each part, joints released, swings made."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.piece = dict.fromkeys(record.parts, _PRODUCT)
        self.released: set[str] = set()
        self.swung: set[str] = set()
        #: swung part -> what every swing of it leaves covered
        self.still_covered: dict[str, frozenset[str]] = {}
        #: part -> joints still done up, in the order of the record
        self.joints_of: dict[str, dict[str, None]] = {part: {} for part in record.parts}
        for name, joint in record.joints.items():
            for part in joint.holds:
                self.joints_of[part][name] = None

    def release(self, path: Path, name: str, number: int | None) -> Iterator[Remark]:
        if name in self.released:
            message = f"{shown(name)} is released a second time; the first counts"
            yield Remark((*path, "joint"), "record.log-released-twice", message, "delete one of the two entries")
            return
        joint = self.record.joints[name]
        piece = self.piece[joint.holds[0]]
        ways = joint.ways if number is None else (joint.ways[number],)
        blocked = [self._in_place(way.under, piece, name) for way in ways]
        if all(blocked):
            for cover in blocked[0]:
                message = f"{shown(name)} is released while {cover} in place"
                mend = f"{_ORDER}, or correct what the way lies under"
                yield Remark((*path, "joint"), "record.log-cover-in-place", message, mend)
        self.released.add(name)
        for part in joint.holds:
            self.joints_of[part].pop(name, None)

    def swing(self, path: Path, name: str) -> Iterator[Remark]:
        swing = self.record.swings[name]
        place = (*path, "swing")
        if name in self.swung:
            yield Remark(place, "record.log-swung-twice", f"{shown(name)} is swung a second time", _ORDER)
            return
        if self.piece[swing.part] != _PRODUCT:
            message = f"{shown(swing.part)} is swung aside after it came out"
            yield Remark(place, "record.log-piece-gone", message, _ORDER)
        held = [joint for joint in self._holding([swing.part], alone=True) if joint not in swing.keeps]
        yield from _still_held(place, swing.part, "swung aside", held)
        yield from self._behind(place, swing.part, "swung aside", swing.lift.behind, "")
        self.swung.add(name)
        covered = frozenset(swing.still_covers)
        self.still_covered[swing.part] = self.still_covered.get(swing.part, covered) & covered

    def lift_part(self, path: Path, name: str) -> Iterator[Remark]:
        place = (*path, "part")
        if self.piece[name] == f"part {name}":
            yield Remark(place, "record.log-lifted-twice", f"{shown(name)} is lifted a second time", _ORDER)
            return
        yield from _still_held(place, name, "lifted", self._holding([name], alone=True))
        yield from self._behind(place, name, "lifted", lift_of(self.record.parts[name]).behind, name)
        self.piece[name] = f"part {name}"

    def lift_bundle(self, path: Path, name: str) -> Iterator[Remark]:
        bundle = self.record.bundles[name]
        place = (*path, "bundle")
        pieces = {self.piece[part] for part in bundle.parts}
        if f"bundle {name}" in pieces:
            yield Remark(place, "record.log-lifted-twice", f"{shown(name)} is lifted a second time", _ORDER)
            return
        if len(pieces) > 1 or not self._contains(next(iter(pieces)), bundle.parts):
            message = f"{shown(name)} is lifted, but its parts are no longer in one piece"
            yield Remark(place, "record.log-piece-gone", message, f"{_ORDER}, or lift the parts that are left")
        yield from _still_held(place, name, "lifted", self._holding(bundle.parts, alone=False))
        yield from self._behind(place, name, "lifted", bundle.lift.behind, name, self.piece[bundle.parts[0]])
        self.piece.update(
            {part: f"bundle {name}" for part in bundle.parts if self.piece[part] != f"part {part}"},
        )

    def _contains(self, piece: str, parts: tuple[str, ...]) -> bool:
        """Whether the piece is the product, or a bundle larger than `parts`."""
        if piece == _PRODUCT:
            return True
        kind, _, name = piece.partition(" ")
        return kind == "bundle" and set(parts) < set(self.record.bundles[name].parts)

    def _holding(self, parts: Iterable[str], *, alone: bool) -> list[str]:
        """Joints still done up that hold one of `parts` (with `alone`), or one of them and something outside."""
        own = set(parts)
        joints = dict.fromkeys(joint for part in parts for joint in self.joints_of[part])
        return [joint for joint in joints if alone or not own.issuperset(self.record.joints[joint].holds)]

    def _behind(
        self, place: Path, name: str, done: str, behind: tuple[Cover, ...], what: str, piece: str | None = None
    ) -> Iterator[Remark]:
        inside = self.piece.get(name, _PRODUCT) if piece is None else piece
        for cover in self._in_place(behind, inside, what):
            message = f"{shown(name)} is {done} while {cover} in place"
            yield Remark(place, "record.log-behind", message, f"{_ORDER}, or correct what it is behind")

    def _in_place(self, clauses: tuple[Cover, ...], piece: str, what: str) -> list[str]:
        """Say of each clause that is not cleared for `what`, which is in `piece`, what is still in place."""
        return [
            f"{listed(clause)} {'was' if len(clause) == 1 else 'were all'} still"
            for clause in clauses
            if not any(self._is_clear(cover, piece, what) for cover in clause)
        ]

    def _is_clear(self, cover: str, piece: str, what: str) -> bool:
        if self.piece[cover] != piece:
            return True
        return cover in self.still_covered and what not in self.still_covered[cover]


def _still_held(place: Path, name: str, done: str, joints: list[str]) -> Iterator[Remark]:
    if joints:
        message = f"{shown(name)} is {done} while held by {listed(joints)}"
        yield Remark(place, "record.log-still-held", message, "enter the release before, or correct what it holds")


def _clock(record: Record) -> Iterator[Remark]:
    """Times of the film may not run backwards."""
    latest, said = Decimal(0), ""
    for index, entry in enumerate(record.log):
        if entry.at is None:
            continue
        now = _seconds(entry.at)
        if now < latest:
            message = f"{entry.at} comes after {said} in the log"
            yield Remark(("log", index, "at"), "record.log-time-backwards", message, "correct the time or the order")
        else:
            latest, said = now, entry.at


def _seconds(clock: str) -> Decimal:
    hours, minutes, seconds = clock.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + Decimal(seconds)
