"""Legal readings: questions that the text leaves open, each an option with a stated default."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import Fields, Sheaf, unknown_remedy
from unfasten.evidence.place import Path

_KEYS = ("id", "question", "at", "default", "why", "options")


@dataclass(frozen=True, slots=True)
class Reading:
    """One question with its options (name: meaning), the default and why; `at` is the place in the law."""

    id: str
    question: str
    at: str
    default: str
    why: str
    options: Mapping[str, str]


def read_reading(data: object, path: Path, sheaf: Sheaf) -> Reading:
    """Read one entry of a rule set's list of readings; problems go to the sheaf."""
    fields = Fields(data, path, sheaf, _KEYS)
    options: dict[str, str] = {}
    for place, name, text in fields.pairs("options"):
        if not isinstance(text, str):
            sheaf.add("data.wrong-kind", place, "the meaning of an option is no text", "write a sentence")
        options[name] = str(text)
    return Reading(
        id=fields.text("id"),
        question=fields.text("question"),
        at=fields.text("at"),
        default=fields.choice("default", tuple(options)),
        why=fields.text("why"),
        options=options,
    )


def choose(readings: Mapping[str, Reading], wanted: Mapping[str, str]) -> dict[str, str]:
    """The option of each reading: the default unless wanted otherwise; raises `CallError` for an unknown name."""
    for name, option in wanted.items():
        if name not in readings:
            remedy = unknown_remedy(name, tuple(readings))
            raise CallError("rules.unknown-reading", "--reading", f'no reading "{name}"', remedy)
        if option not in readings[name].options:
            message = f'reading "{name}" has no option "{option}"'
            raise CallError(
                "rules.unknown-option", "--reading", message, unknown_remedy(option, tuple(readings[name].options))
            )
    return {name: wanted.get(name, reading.default) for name, reading in readings.items()}
