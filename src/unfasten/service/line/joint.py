"""Joint lines: `2 hex-3 holds back-cover frame at edge under shield`: what holds what, and that it was undone now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from unfasten.record.suggest import remedy
from unfasten.service.line.sheet import Sheet, Tree
from unfasten.service.line.tokens import Clause, Problem, Token, clauses_of
from unfasten.service.line.way import log_times, way_clause
from unfasten.service.line.words import JOINT_KEYS, KINDS, REUSES, WAY_KEYS, kind_said, usual_joint

_PLURAL: Final = {"press-fit": "seat", "adhesive": "glue", "connector": "plug", "other": "joint"}
_TEXTS: Final = {"at": "where", "drive": "drive", "thread": "thread", "named": "name", "remark": "note"}


def read_joint(sheet: Sheet, tokens: Sequence[Token]) -> str:
    """Read a joint line onto the sheet; gives what was understood in words."""
    head, clauses = clauses_of(tokens, JOINT_KEYS)
    count, tools, kind = _head(sheet, head)
    joint: Tree = {}
    ways: list[Tree] = [] if tools is None else [{"tools": tools} if tools else {}]
    name, way, later, took = None, None, False, None
    for clause in clauses:
        if clause.key == "holds":
            joint |= _holds(sheet, clause)
        elif clause.key == "as":
            name = _text(sheet, clause, "an id for the joint")
        elif clause.key in _TEXTS:
            joint[_TEXTS[clause.key]] = _text(sheet, clause, "text")
        elif clause.key == "reuse":
            joint["reuse"] = sheet.choice(clause.words[0], REUSES, "reuse") if clause.words else None
        elif clause.key == "long":
            joint["length"] = sheet.quantity(clause.text, "length", clause.at)
        elif clause.key == "later":
            later = True
        elif clause.key == "took":
            took = sheet.quantity(clause.text, "time", clause.at)
        elif clause.key == "way":
            way = _number(sheet, clause)
        elif clause.key in WAY_KEYS:
            way_clause(sheet, ways, clause, joint.get("holds", []))
    if sheet.side and ways and not any("side" in one for one in ways):
        for one in ways:
            one["side"] = sheet.side
    joint = {key: value for key, value in joint.items() if value is not None}
    return _put(sheet, tokens[0], name, count, kind, joint, ways, (later, way, took))


def _head(sheet: Sheet, head: Sequence[Token]) -> tuple[int | None, list[str] | None, str | None]:
    """Count, tools and kind: the words before the first keyword, in any order."""
    count, tools, kind = None, None, None
    for token in head:
        if token.text.isdecimal() and count is None and not sheet.is_tool(token):
            count = int(token.text)
        elif kind is None and kind_said(token.text) and not sheet.is_tool(token):
            kind = kind_said(token.text)
        elif tools is None:
            tools = sheet.tools(token)
        else:
            sheet.wrong(token, f"{token.text!r} is no count, tool or kind of joint", remedy(token.text, KINDS))
    return count, tools, kind


def _holds(sheet: Sheet, clause: Clause) -> Tree:
    """Parts held; after two of them, words that name no part are the place."""
    held: list[str] = []
    for number, word in enumerate(clause.words):
        found = sheet.name(word, "parts", exact=len(held) >= 2, new=True)
        if found is None and len(held) >= 2:
            return {"holds": held, "where": " ".join(rest.text for rest in clause.words[number:])}
        if found is not None and found not in held:
            held.append(found)
    if not held:
        sheet.wrong(clause.at, "nothing is held", "name the parts that the joint holds together")
    return {"holds": held}


def _put(
    sheet: Sheet,
    first: Token,
    name: str | None,
    count: int | None,
    kind: str | None,
    joint: Tree,
    ways: list[Tree],
    done: tuple[bool, int | None, str | None],
) -> str:
    held = joint.get("holds", [])
    old: dict[str, Any] = dict(sheet.section("joints").get(name, {})) if name else {}
    if not name and held:
        kind = kind or _kind(sheet, ways)
        name = _id(sheet, held, kind)
        old = dict(sheet.section("joints").get(name, {}))
    kind = kind or old.get("kind") or _kind(sheet, ways)
    if kind is None:
        sheet.wrong(first, "the kind of joint is not clear", f"write one of {', '.join(KINDS)}")
    if not held and not old:
        sheet.wrong(first, "what the joint holds is missing", "write holds and the parts that it holds together")
    if sheet.problems or not name:
        return ""
    if not ways and not old.get("ways"):
        ways = [{"side": sheet.side} if sheet.side else {}]
    counted = {} if count is None else {"count": count}
    tree = {"kind": kind, **old, **counted, **joint, **({"ways": ways} if ways else {})}
    sheet.put("joints", name, {"kind": kind, **{k: v for k, v in tree.items() if k != "kind"}})
    return _log(sheet, name, done)


def _log(sheet: Sheet, name: str, done: tuple[bool, int | None, str | None]) -> str:
    later, way, took = done
    joint = sheet.section("joints")[name]
    if not 0 <= (way or 0) < len(joint["ways"]):
        last = len(joint["ways"]) - 1
        sheet.problems.append(Problem(0, 0, f"way {way} is not on the sheet", f"use 0 to {last}, or add one: or TOOLS"))
        return ""
    words = joint_words(sheet, name, joint, way or 0)
    if later:
        return f"On the sheet, not undone yet: {words}"
    if name in sheet.released():
        return f"Corrected (undone before): {words}"
    sheet.log({"do": "release", "joint": name, "way": way or 0, **log_times(took)})
    return f"Undone: {words}"


def joint_words(sheet: Sheet, name: str, joint: Tree, way: int = 0) -> str:
    """Say a joint in words."""
    parts = sheet.section("parts")
    held = " and ".join(str(parts.get(part, {}).get("name", part)) for part in joint.get("holds", ()))
    used = joint["ways"][way]
    tools = "by hand" if not used.get("tools") else "with " + " and ".join(used["tools"])
    count = f"{joint['count']} × " if joint.get("count", 1) > 1 else ""
    bits = [f"{count}{joint['kind']} ({name}) that holds {held}, {tools}"]
    if joint.get("where"):
        bits.append(f"place: {joint['where']}")
    for preparation in used.get("prepare", ()):
        bits.append(f"{preparation['do']} first {preparation.get('time', '')}".strip())
    if used.get("under"):
        listed = [" or ".join(c) if isinstance(c, list) else c for c in used["under"]]
        bits.append(f"under {', '.join(listed)}")
    if used.get("side"):
        bits.append(f"{used['side']} side up")
    return "; ".join(bits)


def _kind(sheet: Sheet, ways: list[Tree]) -> str | None:
    kinds = {
        usual_joint(sheet.section("tools").get(tool, {}).get("kind")) for way in ways for tool in way.get("tools", ())
    }
    return next(iter(kinds)) if len(kinds) == 1 else None


def _id(sheet: Sheet, held: Sequence[str], kind: str | None) -> str:
    """An id of its own: the first part held that does not stay, and the kind."""
    parts = sheet.section("parts")
    first = next((part for part in held if not parts.get(part, {}).get("stays")), held[0])
    stem = f"{first}-{_PLURAL.get(kind or '', f'{kind}s')}"
    name, number = stem, 2
    while name in sheet.section("joints") and list(sheet.section("joints")[name].get("holds", ())) != list(held):
        name, number = f"{stem}-{number}", number + 1
    return name


def _number(sheet: Sheet, clause: Clause) -> int | None:
    if clause.text.isdecimal():
        return int(clause.text)
    sheet.wrong(clause.at, f"{clause.text!r} is no number of a way", "write way 0 for the first, way 1 for the second")
    return None


def _text(sheet: Sheet, clause: Clause, what: str) -> str | None:
    if not clause.words:
        sheet.wrong(clause.at, f"nothing stands behind {clause.key}", f"write {what} behind it")
    return clause.text or None
