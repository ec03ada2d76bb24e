"""How comparison puts things into words: parts by name, joints by id in words."""

from __future__ import annotations

from collections.abc import Iterable

from unfasten.compare.sides import Pair, Sided

_DONE = {"release": "released", "lift": "lifted", "swing": "swung aside:"}


def part_words(side: Sided, common: Iterable[str]) -> str:
    """Names of parts of one record, in the record's order; `nothing` where there are none."""
    wanted = set(common)
    names = [side.record.parts[part].name for name, part in side.ids.items() if name in wanted]
    return ", ".join(names) if names else "nothing"


def name_of(pair: Pair, common: str) -> str:
    """Name of a part, from the record after where it is there."""
    side = pair.after if common in pair.after.ids else pair.before
    return side.record.parts[side.ids[common]].name


def joint_words(joint: str) -> str:
    """A joint's id as words."""
    return joint.replace("-", " ")


def log_places(side: Sided, part: str | None = None, joint: str | None = None) -> tuple[tuple[str, str], ...]:
    """Entries of the log that release the joint or lift or swing the part: place and what stands there."""
    found = []
    keys = [("joint", joint)] if joint is not None else []
    keys += [("part", part)] if part is not None else []
    for key in keys:
        for index in side.log_of.get(key, ()):
            entry = side.record.log[index]
            name = joint_words(key[1]) if key[0] == "joint" else side.record.parts[key[1]].name
            extra = [text for text in (f"at {entry.at}" if entry.at else "", entry.photo or "") if text]
            found.append((f"log[{index}]", ", ".join([f"{_DONE[entry.do]} {name}", *extra])))
    return tuple(found)
