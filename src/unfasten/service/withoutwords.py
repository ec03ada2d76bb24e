"""In words: what is done without, and why no route does without it, as a chain of sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from unfasten.record.record import Record
from unfasten.routes.blocked import Block
from unfasten.routes.result import Action
from unfasten.routes.without import Thing
from unfasten.service.report_words import clean, joint_name, listing, part_name, tool_name, words

#: kind of thing -> what a route does with it, in the forms `takes out it`, `taking out it`
_FORMS: Final = MappingProxyType(
    {
        "part": ("takes out", "taking out"),
        "bundle": ("takes out", "taking out"),
        "swing": ("swings aside", "swinging aside"),
        "joint": ("undoes", "undoing"),
        "tool": ("uses", "using"),
    }
)
_GERUNDS: Final = MappingProxyType({"undo": "undoing", "take": "taking", "swing": "swinging"})
_PREPARED: Final = MappingProxyType({"heat": ("heats", "heating"), "clean": ("cleans", "cleaning")})


def does(record: Record, things: Sequence[Thing]) -> str:
    """`takes out Back cover`; several with `or`."""
    return " or ".join(_form(record, thing, 0) for thing in things)


def doing(record: Record, things: Sequence[Thing]) -> str:
    """`taking out Back cover`; several with `and`."""
    return listing([_form(record, thing, 1) for thing in things])


def name_of(record: Record, thing: Thing) -> str:
    """The name of a thing as printed."""
    if thing.kind == "part":
        return part_name(record, thing.id)
    if thing.kind == "joint":
        return joint_name(record, thing.id)
    if thing.kind == "tool":
        return tool_name(record, thing.id)
    if thing.kind == "swing":
        return part_name(record, record.swings[thing.id].part)
    return bundle_name(record, thing.id) if thing.kind == "bundle" else thing.id


def bundle_name(record: Record, name: str) -> str:
    """Name of a bundle as printed; its id in words where the record gives none."""
    return clean(record.bundles[name].name, 80) or words(name)


def undone(record: Record, name: str, number: int) -> str:
    """How a way undoes its joint: `with Pick after heating (Heating pad)`, or `by hand`."""
    way = record.joints[name].ways[number]
    tools = listing([tool_name(record, tool) for tool in way.tools])
    text = f"with {tools}" if tools else "by hand"
    for one in way.prepare:
        by = listing([tool_name(record, tool) for tool in one.tools])
        text += f" after {_PREPARED[one.do][1]}" + (f" ({by})" if by else "")
    return text


def action_words(record: Record, action: Action) -> str:
    """`undo Back glue with Pick`, `take out Back cover`, `swing Back cover aside`."""
    if action.joint is not None:
        how = f" {undone(record, action.joint, action.way or 0)}" if len(record.joints[action.joint].ways) > 1 else ""
        return f"undo {joint_name(record, action.joint)}{how}"
    if action.swing is not None:
        return f"swing {part_name(record, record.swings[action.swing].part)} aside"
    if action.bundle is not None:
        return f"take out {bundle_name(record, action.bundle)} in one piece"
    return f"take out {part_name(record, action.part or '')}"


def action_gerund(record: Record, action: Action) -> str:
    """`undoing Back glue with Pick`, `taking out Back cover`, `swinging Back cover aside`."""
    verb, _, rest = action_words(record, action).partition(" ")
    return f"{_GERUNDS[verb]} {rest}"


def difference(steps: int, time: Fraction) -> str:
    """`2 steps and 15.0 s more`, `1 step more and 20.0 s less`, `nothing more`."""
    if not steps and not time:
        return "nothing more"
    texts = [_more(abs(steps), "step" if abs(steps) == 1 else "steps", steps), _more_time(time)]
    if steps and time and (steps > 0) == (time > 0):
        word = "more" if steps > 0 else "less"
        return f"{texts[0][0]} and {texts[1][0]} {word}"
    return " and ".join(f"{figure} {word}" for figure, word in texts if word)


def chain_words(record: Record, blocks: Sequence[Block], things: Sequence[Thing]) -> tuple[str, ...]:
    """The chain as sentences, from the part to what is done without."""
    return tuple(dict.fromkeys(sentence for block in blocks for sentence in _sentence(record, block, things)))


def _sentence(record: Record, block: Block, things: Sequence[Thing]) -> Iterator[str]:
    what = _what(record, block)
    if block.how == "held":
        names = listing([joint_name(record, name) for _, name in block.waits_for])
        yield f"{what} is held by {names}."
    elif block.how == "covered":
        covers = " or ".join(part_name(record, part) for part in block.cover)
        relation = f"{'perhaps ' if block.open else ''}{_relation(block, what)} {covers}"
        tail = " (not known for sure)" if block.open else ""
        yield f"{what}{_by(record, block)} {relation}{tail}{'' if block.waits_for else ', which nothing clears first'}."
    elif block.how == "never":
        yield f"{what} cannot be {'undone' if block.kind == 'release' else 'moved'} at all."
    else:
        yield _barred(record, block, things)


def _barred(record: Record, block: Block, things: Sequence[Thing]) -> str:
    """What the question rules out."""
    if block.kind == "release":
        joint = joint_name(record, block.id)
        named = [thing for thing in things if thing.kind == "joint" and thing.id == block.id]
        if named:
            return f"{joint} is not to be undone: so the question asks."
        numbers = range(len(record.joints[block.id].ways)) if block.way is None else (block.way,)
        ways = " or ".join(undone(record, block.id, number) for number in numbers)
        only = "is undone only" if block.way is None else "may not be undone"
        return f"{joint} {only} {ways}{', which the question rules out' if block.way is None else ''}."
    what = _what(record, block)
    if block.kind == "swing":
        if Thing("swing", block.id) in things:
            return f"{what.split(',')[0]} is not to be swung aside: so the question asks."
        return f"{what} needs {_tools_named(record, things)}, which the question rules out."
    if Thing("part", block.id) in things or Thing("bundle", block.id) in things:
        return f"{what} is not to be taken out: so the question asks."
    parts = record.bundles[block.id].parts if block.id in record.bundles else ()
    inside = [part_name(record, thing.id) for thing in things if thing.kind == "part" and thing.id in parts]
    if inside:
        return f"{what} takes {listing(inside)} with it: so the question rules it out."
    return f"{what}, to be taken out, needs {_tools_named(record, things)}, which the question rules out."


def _tools_named(record: Record, things: Sequence[Thing]) -> str:
    return " or ".join(tool_name(record, thing.id) for thing in things if thing.kind == "tool")


def _what(record: Record, block: Block) -> str:
    if block.kind == "release":
        return joint_name(record, block.id)
    if block.kind == "swing":
        return f"{part_name(record, record.swings[block.id].part)}, to be swung aside,"
    return part_name(record, block.id) if block.id in record.parts else bundle_name(record, block.id)


def _relation(block: Block, what: str) -> str:
    if block.kind != "release":
        return "is behind"
    return "lie under" if what.endswith("s") and not what.endswith("ss") else "lies under"


def _by(record: Record, block: Block) -> str:
    return "" if block.way is None else f", undone {undone(record, block.id, block.way)},"


def _form(record: Record, thing: Thing, number: int) -> str:
    if thing.kind == "preparation":
        return _PREPARED[thing.id][number]
    verb, name = _FORMS[thing.kind][number], name_of(record, thing)
    if thing.kind == "swing":
        return f"{verb.split()[0]} {name} aside"
    return f"{verb} {name}" + (" in one piece" if thing.kind == "bundle" else "")


def _more(size: int, unit: str, value: int) -> tuple[str, str]:
    return f"{size} {unit}", "" if not value else "more" if value > 0 else "less"


def _more_time(time: Fraction) -> tuple[str, str]:
    return f"{float(abs(time)):.1f} s", "" if not time else "more" if time > 0 else "less"
