"""Reading the entry line: short trade input to ledger entries, said in words before anything is taken."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from unfasten.record.change import Edit, EditError, edit_tree, parse_edit
from unfasten.record.suggest import remedy
from unfasten.service.line.joint import read_joint
from unfasten.service.line.moves import (
    read_drop,
    read_found,
    read_lift,
    read_note,
    read_part,
    read_pause,
    read_release,
    read_swing,
    read_tool,
)
from unfasten.service.line.sheet import Piece, Sheet
from unfasten.service.line.tokens import Problem, Token, tokens_of
from unfasten.service.line.words import KINDS, VERBS

_READERS: Final[Mapping[str, Callable[[Sheet, Sequence[Token]], str]]] = {
    "lift": read_lift,
    "swing": read_swing,
    "release": read_release,
    "found": read_found,
    "part": read_part,
    "tool": read_tool,
    "pause": read_pause,
    "drop": read_drop,
}
_EDIT: Final = re.compile(r"[a-z_]+[.\[a-z0-9_-].*?=")
_CLOCK: Final = re.compile(r"[0-9]{1,3}:[0-5][0-9]:[0-5][0-9]")


@dataclass(frozen=True, slots=True)
class Reading:
    """A line as it was understood. `command` is what the page itself does (clock, undo, an answer); else `pieces`."""

    line: str
    words: str
    pieces: tuple[Piece, ...]
    problems: tuple[Problem, ...]
    new: tuple[str, ...] = ()
    command: tuple[str, str] | None = None

    @property
    def ok(self) -> bool:
        """Tell whether the line can be taken."""
        return not self.problems and bool(self.pieces or self.command)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "ok": self.ok,
            "words": self.words,
            "new": list(self.new),
            "problems": [problem.as_json() for problem in self.problems],
            "command": list(self.command) if self.command else None,
        }


def read_line(
    line: str,
    tree: Mapping[str, Any],
    expected: Mapping[str, Any] | None = None,
    *,
    at: str | None = None,
    side: str | None = None,
    took: float | None = None,
) -> Reading:
    """Read one line against a record's plain tree.

    `expected` is the predecessor's tree, `at` the film's clock (`0:12:30`), `side` the face that is up,
    `took` the time since the mark [s]. Never raises
    on what was typed: problems come back with their place in the line and a remedy, all at once.
    """
    sheet = Sheet(tree, expected or {}, at, side, took)
    tokens = tokens_of(line)
    if not tokens:
        return Reading(line, "", (), ())
    verb = tokens[0].text
    command = _command(sheet, verb, tokens[1:], line)
    words = "" if command or sheet.problems else _words(sheet, verb, tokens, line)
    if not sheet.problems and not sheet.pieces and not command:
        sheet.wrong(tokens[0], f"{verb} needs more words", VERBS.get(verb, "write what it is about"))
    done = () if sheet.problems else tuple(sheet.pieces)
    return Reading(line, words, done, tuple(sheet.problems), tuple(sheet.new), command)


def _words(sheet: Sheet, verb: str, tokens: list[Token], line: str) -> str:
    if verb in _READERS:
        return _READERS[verb](sheet, tokens[1:])
    if verb == "note":
        text = line.strip()[len("note") :].strip()
        return read_note(sheet, text) if text else ""
    if _EDIT.match(line.strip()) and not tokens[0].quoted:
        return _edit(sheet, line.strip(), tokens[0])
    if any(token.text == "holds" for token in tokens) or _starts_joint(sheet, tokens):
        return read_joint(sheet, tokens)
    near = remedy(verb, [*VERBS, *KINDS], "begin with a count, a tool, or one of")
    sheet.wrong(tokens[0], f"{verb!r} begins no entry", near)
    return ""


def _starts_joint(sheet: Sheet, tokens: Sequence[Token]) -> bool:
    first = tokens[0]
    return first.text.isdecimal() or first.text.rstrip("s") in KINDS or sheet.is_tool(first)


def _command(sheet: Sheet, verb: str, rest: Sequence[Token], line: str) -> tuple[str, str] | None:
    """What the page does itself: the clock, withdrawing an entry, an answer."""
    text = " ".join(token.text for token in rest)
    if verb == "clock":
        if _CLOCK.fullmatch(text):
            return ("clock", text)
        sheet.wrong(rest[0] if rest else Token(verb, 0, len(line)), "no time of the film", "write clock 0:12:30")
    elif verb == "undo":
        if not text or text.isdecimal():
            return ("undo", text)
        sheet.wrong(rest[0], f"{text!r} is no number of an entry", "write undo, or undo and a number from the ledger")
    elif verb in ("yes", "no", "unsure") and not rest:
        return ("answer", verb)
    return None


def _edit(sheet: Sheet, line: str, first: Token) -> str:
    """`joints.battery-glue.reuse=reusable`: one value anywhere on the sheet, by its place."""
    try:
        edit = parse_edit(line)
        return _edited(sheet, edit)
    except EditError as error:
        sheet.wrong(Token(line, first.start, first.start + len(line)), error.message, error.mend)
        return ""


def _edited(sheet: Sheet, edit: Edit) -> str:
    import copy

    tree, section = dict(sheet.tree), str(edit.path[0])
    held, name = tree.get(section, {}), str(edit.path[1]) if len(edit.path) > 1 else ""
    if section in ("parts", "joints", "tools", "photos") and name in held:  # the others stay as they are
        tree[section] = {**held, name: copy.deepcopy(held[name])}
    else:
        tree[section] = copy.deepcopy(held)
    edit_tree(tree, edit)
    at = section
    value = tree[section]
    if section in ("parts", "joints", "tools", "bundles", "swings", "photos"):
        at, value = f"{section}.{edit.path[1]}", tree[section][edit.path[1]]
    sheet.pieces.append(Piece("put", {"at": at, "value": value}))
    return f"Set {edit}"
