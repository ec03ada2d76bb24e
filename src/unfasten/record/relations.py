"""What must hold between the entries of a record: checked on the tree, also where parts of it are wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from unfasten.evidence.place import Path, shown
from unfasten.record.photo import photo_remarks
from unfasten.record.place import Remark
from unfasten.record.references import entries, log_entries, mapping, sequence, ways


def relation_remarks(tree: Any) -> Iterator[Remark]:
    """Yield a remark for each broken rule between entries."""
    yield from _stays(tree)
    yield from _moved_frame(tree)
    yield from _keeps(tree)
    yield from _empty_choices(tree)
    yield from photo_remarks(tree)
    for path, entry in log_entries(tree):
        if entry.get("do") == "lift":
            yield from _one_target(path, entry, ("part", "bundle"))
        elif entry.get("do") == "found":
            yield from _found(path, entry)
        if entry.get("do") in ("release", "found"):
            yield from _way_number(tree, path, entry)
    product = mapping(mapping(tree).get("product"))
    if product.get("predecessor") is not None and product.get("predecessor") == product.get("id"):
        message = "the product is its own predecessor"
        yield Remark(("product", "predecessor"), "record.own-predecessor", message, "name another product's id")


def _staying(tree: Any) -> list[str]:
    return [str(path[-1]) for path, part in entries(tree, "parts") if part.get("stays") is True]


def _stays(tree: Any) -> Iterator[Remark]:
    if not isinstance(mapping(tree).get("parts"), dict):
        return
    staying = _staying(tree)
    unclear = any(not isinstance(part.get("stays", False), bool) for _, part in entries(tree, "parts"))
    if not staying and not unclear:
        yield Remark(("parts",), "record.no-frame", "no part stays", "write 'stays: true' at the frame")
    for name in staying[1:]:
        message = f"{shown(name)} stays, and so does {shown(staying[0])}"
        yield Remark(("parts", name, "stays"), "record.several-frames", message, "let one part stay only")


def _moved_frame(tree: Any) -> Iterator[Remark]:
    """No bundle, swing or lift may move the part that stays."""
    staying = set(_staying(tree)[:1])
    moved: list[tuple[Path, Any]] = []
    for path, bundle in entries(tree, "bundles"):
        moved += [((*path, "parts", index), name) for index, name in enumerate(sequence(bundle.get("parts")))]
    moved += [((*path, "part"), swing.get("part")) for path, swing in entries(tree, "swings")]
    moved += [((*path, "part"), entry.get("part")) for path, entry in log_entries(tree) if entry.get("do") == "lift"]
    for place, name in moved:
        if isinstance(name, str) and name in staying:
            message = f"{shown(name)} is the part that stays"
            yield Remark(place, "record.frame-moves", message, "leave it out, or let another part stay")


def _keeps(tree: Any) -> Iterator[Remark]:
    joints, parts = mapping(mapping(tree).get("joints")), mapping(mapping(tree).get("parts"))
    for path, swing in entries(tree, "swings"):
        for index, name in enumerate(sequence(swing.get("keeps"))):
            joint = joints.get(name) if isinstance(name, str) else None
            holds = mapping(joint).get("holds")
            part = swing.get("part")
            if isinstance(holds, list) and isinstance(part, str) and part in parts and part not in holds:
                message = f"the joint {shown(name)} does not hold {shown(part)}"
                yield Remark((*path, "keeps", index), "record.keeps-other-joint", message, "keep joints of the part")


def _empty_choices(tree: Any) -> Iterator[Remark]:
    covers: list[tuple[Path, Any]] = []
    for section in ("parts", "bundles", "swings"):
        for path, node in entries(tree, section):
            covers.append(((*path, "lift", "behind"), mapping(node.get("lift")).get("behind")))
    for path, joint in entries(tree, "joints"):
        covers += [((*path, "ways", number, "under"), way.get("under")) for number, way in ways(joint)]
    for path, entry in log_entries(tree):
        covers += [((*path, key), entry.get(key)) for key in ("under", "behind")]
    for place, clauses in covers:
        for index, clause in enumerate(sequence(clauses)):
            if clause == []:
                message = "an empty choice can never be cleared"
                yield Remark((*place, index), "record.empty-choice", message, "name a part, or delete the brackets")


def _one_target(path: Path, entry: dict[str, Any], targets: tuple[str, ...]) -> Iterator[Remark]:
    named = [target for target in targets if entry.get(target) is not None]
    choice = f"{', '.join(targets[:-1])} or {targets[-1]}"
    if not named:
        yield Remark(path, "record.no-target", f"the entry names no {choice}", f"name one {choice}")
    elif len(named) > 1:
        message = f"the entry names a {' and a '.join(named)}"
        yield Remark(path, "record.several-targets", message, "make an entry of each")


def _found(path: Path, entry: dict[str, Any]) -> Iterator[Remark]:
    yield from _one_target(path, entry, ("joint", "part", "bundle"))
    if entry.get("joint") is None and entry.get("under"):
        message = "a lift lies under nothing: 'under' belongs to joints"
        yield Remark((*path, "under"), "record.wrong-cover-key", message, "write 'behind'")
    if entry.get("joint") is not None and entry.get("behind"):
        message = "a joint is behind nothing: 'behind' belongs to parts and bundles"
        yield Remark((*path, "behind"), "record.wrong-cover-key", message, "write 'under'")
    if entry.get("joint") is None and entry.get("way") is not None:
        message = "'way' belongs to a joint, and the entry names none"
        yield Remark((*path, "way"), "record.way-without-joint", message, "delete it, or name the joint")


def _way_number(tree: Any, path: Path, entry: dict[str, Any]) -> Iterator[Remark]:
    name, number = entry.get("joint"), entry.get("way")
    joint = mapping(mapping(tree).get("joints")).get(name) if isinstance(name, str) else None
    count = len(sequence(mapping(joint).get("ways")))
    if isinstance(number, int) and count and number >= count:
        message = f"the joint {shown(name)} has no way {number}"
        mend = "write 0" if count == 1 else f"write 0 to {count - 1}"
        yield Remark((*path, "way"), "record.way-out-of-range", message, mend)
