"""Clauses of a way or lift: covers, side, time, preparations, survey."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from unfasten.service.line.sheet import Sheet, Tree
from unfasten.service.line.tokens import Clause, Token

REST: Final = "rest"
BUT: Final = "but"
_FIRST: Final = "write under, side, time and the like behind the tools"


def way_clause(sheet: Sheet, ways: list[Tree], clause: Clause, held: Sequence[str]) -> None:
    """Read one clause into the last way; `or TOOLS` begins another."""
    if clause.key == "or":
        if clause.words:
            tools = sheet.tools(clause.words[0])
            ways.append({"tools": tools} if tools else {})
        else:
            sheet.wrong(clause.at, "nothing stands behind or", "write the tools of the other way, or hand")
        return
    if not ways:
        ways.append({})
    common_clause(sheet, ways[-1], clause, "under", held)


def common_clause(sheet: Sheet, lift: Tree, clause: Clause, covers: str, held: Sequence[str]) -> None:
    """Read a clause that ways and lifts share; `covers` is under or behind."""
    if clause.key == covers:
        lift[covers] = [*lift.get(covers, []), *sheet.covers(clause.words)]
    elif clause.key == "side":
        lift["side"] = clause.text or "any"
    elif clause.key in ("time", "each"):
        time = sheet.quantity(clause.text, "time", clause.at, each=clause.key == "each")
        if time:
            lift["time"] = time
    elif clause.key in ("heat", "clean"):
        lift["prepare"] = [*lift.get("prepare", []), _preparation(sheet, clause)]
    elif clause.key in ("partial", "full"):
        lift["survey"] = clause.key
    elif clause.key == "clear":
        lift["clear_of"] = [*lift.get("clear_of", []), *clear_names(sheet, clause.words, lift.get(covers, []), held)]


def clear_names(sheet: Sheet, words: Sequence[Token], covers: Sequence[Any], held: Sequence[str]) -> list[str]:
    """Parts seen not to be in the way; `rest` is all that is off already, `rest but a b` all of it but a and b."""
    texts = [word.text for word in words]
    if REST not in texts:
        return sheet.names(words)
    at = texts.index(REST)
    behind = words[at + 1 :]
    kept = sheet.names(behind[1:]) if behind and behind[0].text == BUT else []
    listed = {name for clause in covers for name in ([clause] if isinstance(clause, str) else clause)}
    rest = [name for name in sheet.out() if name not in listed and name not in held and name not in kept]
    return list(dict.fromkeys([*sheet.names(words[:at]), *rest]))


def _preparation(sheet: Sheet, clause: Clause) -> Tree:
    """`heat pad 120 s`: tools, then the time; either may be missing."""
    made: Tree = {"do": clause.key}
    words = list(clause.words)
    if words and not words[0].text[0].isdecimal():
        tools = sheet.tools(words.pop(0))
        if tools:
            made["tools"] = tools
    if words:
        time = sheet.quantity(" ".join(word.text for word in words), "time", words[0])
        if time:
            made["time"] = time
    return made


def log_times(took: str | None) -> Tree:
    """The log's own time of an entry, if it was said."""
    return {} if took is None else {"took": took}
