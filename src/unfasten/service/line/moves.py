"""Lines about parts: lift, swing, release, found, part, tool, note, pause, drop."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from unfasten.service.line.joint import joint_words
from unfasten.service.line.sheet import Sheet, Tree
from unfasten.service.line.tokens import Clause, Token, clauses_of
from unfasten.service.line.way import clear_names, common_clause, log_times
from unfasten.service.line.words import CLASSES, FOUND_KEYS, LIFT_KEYS, PART_KEYS, ROLES

SECTIONS: Final = {"joint": "joints", "part": "parts", "tool": "tools", "bundle": "bundles", "swing": "swings"}


def read_lift(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`lift battery`, or `lift camera-stack of rear-camera flash-board` for a bundle."""
    head, clauses = clauses_of(tokens, LIFT_KEYS)
    if not head:
        return ""
    new = next((clause for clause in clauses if clause.key == "of"), None)
    section = "bundles" if new or _is_bundle(sheet, head[0].text) else "parts"
    name = head[0].text if new else sheet.name(head[0], section)
    if name is None:
        return ""
    old = dict(sheet.section(section).get(name, {}))
    if new:
        old["parts"] = sheet.names(new.words)
    took, lift = _lift(sheet, clauses, dict(old.get("lift") or {}), [name])
    if lift != (old.get("lift") or {}) or new:
        sheet.put(section, name, {**old, **({"lift": lift} if lift else {})})
    kind = section[:-1]
    sheet.log({"do": "lift", kind: name, **log_times(took)})
    shown = sheet.section("parts").get(name, {}).get("name", name)
    if kind == "part":
        return f"Out: {shown}{_lift_words(lift)}"
    return f"Out together ({name}): {', '.join(old.get('parts', ()))}{_lift_words(lift)}"


def read_swing(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`swing cover-open of back-cover keeps cover-cable still battery`."""
    head, clauses = clauses_of(tokens, LIFT_KEYS)
    new = next((clause for clause in clauses if clause.key == "of"), None)
    if not head:
        return ""
    name = head[0].text if new else sheet.name(head[0], "swings")
    if name is None:
        return ""
    tree = dict(sheet.section("swings").get(name, {}))
    if new:
        tree["part"] = next(iter(sheet.names(new.words)), None)
    for clause in clauses:
        if clause.key == "keeps":
            tree["keeps"] = sheet.names(clause.words, "joints")
        elif clause.key == "still":
            tree["still_covers"] = [_any_name(sheet, word) for word in clause.words]
    took, lift = _lift(sheet, clauses, dict(tree.get("lift") or {}), [str(tree.get("part"))])
    if lift:
        tree["lift"] = lift
    if tree != dict(sheet.section("swings").get(name, {})):
        sheet.put("swings", name, tree)
    sheet.log({"do": "swing", "swing": name, **log_times(took)})
    kept = f", still held by {', '.join(tree['keeps'])}" if tree.get("keeps") else ""
    return f"Moved aside: {tree.get('part')} ({name}){kept}{_lift_words(lift)}"


def read_release(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`release battery-plug way 1 took 4 s`."""
    head, clauses = clauses_of(tokens, ("way", "took"))
    name = sheet.name(head[0], "joints") if head else None
    if name is None:
        return ""
    way, took = 0, None
    for clause in clauses:
        if clause.key == "way" and clause.text.isdecimal():
            way = int(clause.text)
        elif clause.key == "took":
            took = sheet.quantity(clause.text, "time", clause.at)
    joint = sheet.section("joints")[name]
    if way >= len(joint["ways"]):
        sheet.wrong(head[0], f"{name} has no way {way}", f"use 0 to {len(joint['ways']) - 1}")
        return ""
    if name in sheet.released():
        sheet.wrong(head[0], f"{name} is undone already", "leave it, or withdraw the earlier entry with undo")
        return ""
    sheet.log({"do": "release", "joint": name, "way": way, **log_times(took)})
    return f"Undone: {joint_words(sheet, name, dict(joint), way)}"


def read_found(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`found battery-glue clear speaker` (not in the way), `found battery under tape` (was in the way)."""
    head, clauses = clauses_of(tokens, FOUND_KEYS)
    if not head:
        return ""
    kind = next((k for k in ("joint", "part", "bundle") if head[0].text in sheet.section(SECTIONS[k])), "joint")
    name = sheet.name(head[0], SECTIONS[kind])
    if name is None:
        return ""
    entry: Tree = {"do": "found", kind: name}
    covers = "under" if kind == "joint" else "behind"
    for clause in clauses:
        if clause.key == "way" and clause.text.isdecimal() and kind == "joint":
            entry["way"] = int(clause.text)
        elif clause.key in ("under", "behind"):
            entry[covers] = sheet.covers(clause.words)
        elif clause.key == "clear":
            entry["clear_of"] = clear_names(sheet, clause.words, [], [])
        elif clause.key == "remark":
            entry["text"] = clause.text
    if not entry.get(covers) and not entry.get("clear_of"):
        sheet.wrong(head[0], "what was found is missing", f"write clear and parts, or {covers} and parts")
        return ""
    sheet.log(entry)
    clear = f" is clear of {', '.join(entry['clear_of'])}" if entry.get("clear_of") else ""
    under = f" lies {covers} {entry[covers]}" if entry.get(covers) else ""
    return f"Found: {name}{clear}{under}"


def read_part(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`part battery role battery mass 38.2 ± 0.1 g`."""
    head, clauses = clauses_of(tokens, PART_KEYS)
    if not head:
        return ""
    name = head[0].text.lstrip("+")
    if name in sheet.hoped("parts") and name not in sheet.section("parts"):
        sheet.adopt("parts", name)
    tree = {"name": name.replace("-", " ").capitalize(), **sheet.section("parts").get(name, {})}
    for clause in clauses:
        _part_clause(sheet, tree, clause)
    _, lift = _lift(sheet, clauses, dict(tree.get("lift") or {}), [name])
    if lift:
        tree["lift"] = lift
    sheet.put("parts", name, {key: value for key, value in tree.items() if value is not None})
    return f"On the sheet: {tree['name']} ({name})" + (f", role {tree['role']}" if tree.get("role") else "")


def _part_clause(sheet: Sheet, tree: Tree, clause: Clause) -> None:
    if clause.key == "named":
        tree["name"] = clause.text or tree["name"]
    elif clause.key == "role" and clause.words:
        tree["role"] = sheet.choice(clause.words[0], ROLES, "role")
    elif clause.key == "stays":
        tree["stays"] = True
    elif clause.key == "mass":
        tree["mass"] = sheet.quantity(clause.text, "mass", clause.at)
    elif clause.key == "size":
        sides = [sheet.quantity(text.strip(), "length", clause.at) for text in clause.text.split(" x ")]
        tree["size"] = sides if all(sides) else None
    elif clause.key in ("pairing", "hazards"):
        tree[clause.key] = [word.text for word in clause.words]
    elif clause.key in ("marking", "remark"):
        tree["note" if clause.key == "remark" else "marking"] = clause.text or None


def read_tool(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`tool pad class commercial named Heating pad`."""
    head, clauses = clauses_of(tokens, ("class", "named", "kind", "size", "remark"))
    if not head:
        return ""
    name = head[0].text
    sheet.is_tool(head[0]) and sheet.tools(head[0])  # a usual name brings what it stands for
    tree = {"name": name.replace("-", " ").capitalize(), **sheet.section("tools").get(name, {})}
    for clause in clauses:
        if clause.key == "class" and clause.words:
            tree["class"] = sheet.choice(clause.words[0], CLASSES, "class of tool")
        else:
            tree[{"named": "name", "remark": "note"}.get(clause.key, clause.key)] = clause.text
    sheet.put("tools", name, {key: value for key, value in tree.items() if value})
    return f"Tool on the sheet: {tree['name']} ({name}), class {tree.get('class') or 'not known'}"


def read_note(sheet: Sheet, text: str) -> str:
    """`note` and free text."""
    sheet.log({"do": "note", "text": text})
    return f"Note: {text}"


def read_pause(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`pause 3 min lunch`: the time first, then words."""
    split = next((n for n, token in enumerate(tokens) if token.text in ("s", "min", "h")), None)
    upto = 0 if not tokens or not tokens[0].text[0].isdecimal() else 1 if split is None else split + 1
    entry: Tree = {"do": "pause"}
    if upto:
        took = sheet.quantity(" ".join(token.text for token in tokens[:upto]), "time", tokens[0])
        entry |= log_times(took)
    words = " ".join(token.text for token in tokens[upto:])
    sheet.log(entry | ({"text": words} if words else {}))
    return f"Pause{': ' + entry['took'] if 'took' in entry else ''}{', ' + words if words else ''}"


def read_drop(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """`drop joint old-clip`."""
    if len(tokens) != 2 or tokens[0].text not in SECTIONS:
        if tokens:
            sheet.wrong(tokens[0], "what to drop is not clear", "write drop joint ID, drop part ID, drop tool ID …")
        return ""
    section = SECTIONS[tokens[0].text]
    name = tokens[1].text
    if name not in sheet.section(section):
        sheet.wrong(tokens[1], f"no {tokens[0].text} {name!r} is on the sheet", "name one that is")
        return ""
    sheet.pieces.append(_dropped(section, name))
    return f"Off the sheet: {tokens[0].text} {name}"


def _dropped(section: str, name: str) -> Any:
    from unfasten.service.line.sheet import Piece

    return Piece("drop", {"at": f"{section}.{name}"})


def _is_bundle(sheet: Sheet, text: str) -> bool:
    if text in sheet.section("parts") or text in sheet.hoped("parts"):
        return False
    return text in sheet.section("bundles") or text in sheet.hoped("bundles")


def _any_name(sheet: Sheet, word: Token) -> str:
    for section in ("parts", "joints", "bundles"):
        if word.text in sheet.section(section):
            return word.text
    sheet.wrong(word, f"{word.text!r} is not on the sheet", "name a part, joint or bundle")
    return word.text


def _lift(sheet: Sheet, clauses: Sequence[Clause], lift: Tree, held: Sequence[str]) -> tuple[str | None, Tree]:
    took = None
    for clause in clauses:
        if clause.key == "took":
            took = sheet.quantity(clause.text, "time", clause.at)
        elif clause.key == "with":
            lift["tools"] = (sheet.tools(clause.words[0]) or []) if clause.words else []
        elif clause.key not in ("of", "keeps", "still"):
            common_clause(sheet, lift, clause, "behind", held)
    return took, lift


def _lift_words(lift: Tree) -> str:
    bits = []
    if lift.get("tools"):
        bits.append(f"with {' and '.join(lift['tools'])}")
    if lift.get("behind"):
        bits.append(f"behind {', '.join(' or '.join(c) if isinstance(c, list) else c for c in lift['behind'])}")
    if lift.get("side", "any") != "any":
        bits.append(f"{lift['side']} side up")
    return "".join(f"; {bit}" for bit in bits)
