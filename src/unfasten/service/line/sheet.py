"""What a line is read against: the record as it stands, what the predecessor lets expect, and what the line adds."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from unfasten.evidence.quantity import QuantityError, parse
from unfasten.record.suggest import closest, remedy
from unfasten.record.types import ID_PATTERN
from unfasten.service.line.tokens import Problem, Token
from unfasten.service.line.words import HAND, usual_tool

NEW: Final = "+"
_SHORTEST: Final = 2
Tree = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Piece:
    """A ledger entry that a line stands for: its kind and body."""

    kind: str
    body: Tree


@dataclass
class Sheet:
    """A record's plain tree with what one line adds to it; problems are collected, never raised."""

    tree: Mapping[str, Any]
    expected: Mapping[str, Any] = field(default_factory=dict)
    at: str | None = None
    side: str | None = None
    took: float | None = None
    pieces: list[Piece] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    new: list[str] = field(default_factory=list)
    _added: dict[str, Any] = field(default_factory=dict)

    def section(self, name: str) -> Mapping[str, Any]:
        """Objects of a section, with those that the line has added."""
        held: Mapping[str, Any] = self.tree.get(name) or {}
        added = {key.partition(".")[2]: value for key, value in self._added.items() if key.startswith(f"{name}.")}
        return {**held, **added} if added else held

    def hoped(self, name: str) -> Mapping[str, Any]:
        """Objects that the predecessor lets expect in a section."""
        held: Mapping[str, Any] = self.expected.get(name) or {}
        return held

    def put(self, section: str, name: str, value: Tree) -> None:
        """Put an object on the sheet."""
        place = f"{section}.{name}"
        if name not in self.section(section):
            self.new.append(f"{section[:-1]} {name}")
        self._added[place] = value
        self.pieces = [piece for piece in self.pieces if piece.body.get("at") != place or piece.kind != "put"]
        self.pieces.append(Piece("put", {"at": place, "value": value}))

    def log(self, entry: Tree) -> None:
        """Append an entry to the log, at the clock's time."""
        timed = {"at": self.at, **entry} if self.at else dict(entry)
        if self.took is not None and entry["do"] in ("release", "lift", "swing") and "took" not in entry:
            timed["took"] = f"{self.took:.0f} s"
        self.pieces.append(Piece("log", {"entry": timed}))

    def wrong(self, token: Token, message: str, mend: str) -> None:
        """Note what cannot be understood."""
        self.problems.append(Problem(token.start, token.end, message, mend))

    # ---- what is where -----------------------------------------------------------------------------------------------

    def released(self) -> set[str]:
        """Joints that the log has released."""
        return {str(entry.get("joint")) for entry in self.tree.get("log") or () if entry.get("do") == "release"}

    def out(self) -> list[str]:
        """Parts that the log has lifted or swung aside, in order."""
        found: dict[str, None] = {}
        for entry in self.tree.get("log") or ():
            if entry.get("do") == "lift" and entry.get("part"):
                found[entry["part"]] = None
            elif entry.get("do") == "lift":
                bundle = self.section("bundles").get(entry.get("bundle"), {})
                found.update(dict.fromkeys(bundle.get("parts", ())))
            elif entry.get("do") == "swing":
                swing = self.section("swings").get(entry.get("swing"), {})
                found.update(dict.fromkeys([swing["part"]] if "part" in swing else ()))
        return list(found)

    # ---- names -------------------------------------------------------------------------------------------------------

    def name(self, token: Token, section: str, *, exact: bool = False, new: bool = False) -> str | None:
        """An id that stands on the sheet or is expected; a beginning that fits only one may stand for the whole.

        `+name` puts a new part; with `new`, so does a name like no other.
        """
        text = token.text
        if section == "parts" and text.startswith(NEW) and len(text) > 1:
            return self._new_part(token, text[1:])
        known = self.section(section)
        if text in known:
            return text
        if text in self.hoped(section):
            self.adopt(section, text)
            return text
        if exact:
            return None
        names = list(dict.fromkeys([*known, *self.hoped(section)]))
        near = [name for name in names if name.startswith(text)] if len(text) >= _SHORTEST else []
        if len(near) == 1:
            if near[0] not in known:
                self.adopt(section, near[0])
            return near[0]
        if near:
            self.wrong(token, f"{text} may be {', '.join(near[:6])}", "type more of the name")
            return None
        if new and not near and closest(text, names) is None and re.fullmatch(ID_PATTERN, text):
            self.add_part(text)
            return text
        add = f", or write +{text} for a new part" if section == "parts" else ""
        self.wrong(token, f"no {section[:-1]} {text!r}", remedy(text, names, "use one of") + add)
        return None

    def _new_part(self, token: Token, name: str) -> str | None:
        if re.fullmatch(ID_PATTERN, name) is None:
            self.wrong(token, f"{name!r} is no id", "write lower-case words joined by hyphens, such as back-cover")
            return None
        self.add_part(name)
        return name

    def names(self, words: Sequence[Token], section: str = "parts") -> list[str]:
        """Ids of several words, each once; words that are none are noted."""
        return list(dict.fromkeys(name for word in words if (name := self.name(word, section)) is not None))

    def covers(self, words: Sequence[Token]) -> list[str | list[str]]:
        """Clauses of `under` or `behind`: `a b` is a and b, `a/b` is a or b."""
        clauses: list[str | list[str]] = []
        for word in words:
            parts = [Token(text, word.start, word.end) for text in word.text.split("/") if text]
            names = self.names(parts)
            if names:
                clauses.append(names if len(names) > 1 else names[0])
        return clauses

    def tools(self, token: Token) -> list[str] | None:
        """Tools used at the same time: `cup+pick`; `hand` is none. Usual names are put on the sheet by themselves."""
        if token.text == HAND:
            return []
        found = []
        for text in token.text.split("+"):
            if text not in self.section("tools") and not self._adopt_tool(text):
                names = [*self.section("tools"), *self.hoped("tools")]
                mend = remedy(text, names, "use one of") + f", or enter it first: tool {text} class basic"
                self.wrong(token, f"no tool {text!r}", mend)
                return None
            found.append(text)
        return found

    def is_tool(self, token: Token) -> bool:
        """Tell whether a word names tools, without putting any."""
        known = (*self.section("tools"), *self.hoped("tools"), HAND)
        return all(text in known or usual_tool(text) is not None for text in token.text.split("+"))

    def _adopt_tool(self, text: str) -> bool:
        tree = self.hoped("tools").get(text) or usual_tool(text)
        if tree is None:
            return False
        self.put("tools", text, dict(tree))
        return True

    def add_part(self, name: str, tree: Tree | None = None) -> None:
        """Put a part on the sheet, named after its id; the first called frame stays."""
        if name in self.section("parts"):
            return
        if name in self.hoped("parts") and tree is None:
            self.adopt("parts", name)
            return
        made: Tree = {"name": name.replace("-", " ").capitalize()}
        if not any(part.get("stays") for part in self.section("parts").values()) and name in ("frame", "midframe"):
            made["stays"] = True
        self.put("parts", name, made | (tree or {}))

    def adopt(self, section: str, name: str) -> None:
        """Take an object over from the predecessor, with all that it names.

        What was seen to be clear of it was seen on another product: it is left out, and the survey is partial.
        """
        tree = _hypothesis(self.hoped(section)[name])
        self.put(section, name, tree)
        for kind, needed in _needs(section, tree):
            if needed not in self.section(kind) and needed in self.hoped(kind):
                self.adopt(kind, needed)

    # ---- values ------------------------------------------------------------------------------------------------------

    def quantity(self, text: str, dimension: str, token: Token, *, each: bool = False) -> str | None:
        """A quantity as the record writes it."""
        try:
            return str(parse(f"{text} each" if each else text, dimension, each=each))
        except QuantityError as error:
            message, _, mend = str(error).rpartition("; ")
            self.wrong(token, message or mend, mend)
            return None

    def choice(self, token: Token, choices: Collection[str], what: str) -> str | None:
        """One of the words allowed."""
        if token.text in choices:
            return token.text
        self.wrong(token, f"{token.text!r} is no {what}", remedy(token.text, list(choices)))
        return None


def _hypothesis(tree: Mapping[str, Any]) -> Tree:
    made = dict(tree)
    if "ways" in made:
        made["ways"] = [_unsurveyed(way) for way in made["ways"]]
    if made.get("lift"):
        made["lift"] = _unsurveyed(made["lift"])
    return made


def _unsurveyed(lift: Mapping[str, Any]) -> Tree:
    kept = {key: value for key, value in lift.items() if key not in ("clear_of", "survey")}
    return {**kept, "survey": "partial"}


def _needs(section: str, tree: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What an object names: (section, id)."""
    lifts = [tree.get("lift") or {}, *tree.get("ways", ())]
    for name in (*tree.get("holds", ()), *tree.get("parts", ()), *([tree["part"]] if section == "swings" else ())):
        yield "parts", name
    for name in tree.get("keeps", ()):
        yield "joints", name
    for lift in lifts:
        for clause in (*lift.get("under", ()), *lift.get("behind", ())):
            for name in [clause] if isinstance(clause, str) else clause:
                yield "parts", name
        for preparation in lift.get("prepare", ()):
            yield from (("tools", tool) for tool in preparation.get("tools", ()))
        yield from (("tools", tool) for tool in lift.get("tools", ()))
