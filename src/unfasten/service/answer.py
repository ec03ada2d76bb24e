"""Answering a bench question: a `found` entry at the end of the record's log, with the rest of the file as it was."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from unfasten.evidence.errors import CallError
from unfasten.evidence.filebytes import read_limited
from unfasten.record.fold import fold_log, lift_of
from unfasten.record.joint import Way
from unfasten.record.log import Found
from unfasten.record.part import Lift
from unfasten.record.record import Record
from unfasten.routes.opencover import Kind, OpenCover, open_covers
from unfasten.routes.unknown import partial, passed, unknown_covers
from unfasten.service.askwords import meaning_text
from unfasten.service.load import load_record
from unfasten.service.logtext import with_entry
from unfasten.service.replacefile import replace_file

_LAYOUT_LOST = (
    "the log could not be continued in place, so the whole record was written anew: comments and layout are gone"
)


@dataclass(frozen=True, slots=True)
class Answered:
    """What was written: the entry, where to, what it says, and a note where the file's layout could not be kept."""

    entry: Found
    path: Path
    says: str
    note: str | None = None

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        entry = self.entry.model_dump(mode="json", exclude_defaults=True)
        return {"entry": {"do": "found", **entry}, "written": str(self.path), "says": self.says, "note": self.note}


def answer_file(path: Path, question: OpenCover, *, covers: bool, out: Path | None = None) -> Answered:
    """Answer a question in a record file: `covers` true makes the cover real, false lists it under `clear_of`.

    Writes to `out`, or over the file, by way of a temporary file beside it. Raises `RecordInvalid` if the record has
    errors, `CallError` where the question is not open.
    """
    record = load_record(path)
    entry = answer_entry(record, question, covers=covers)
    wanted = record.model_copy(update={"log": (*record.log, entry)})
    target = (out or path).resolve()
    text, kept = with_entry(read_limited(path), (path.name, target.name), entry, wanted)
    replace_file(target, text, like=path)
    says = meaning_text(record, question, covers=covers)
    return Answered(entry, out or path, says, None if kept else _LAYOUT_LOST)


def answer_entry(record: Record, question: OpenCover, *, covers: bool) -> Found:
    """The log entry of an answer; raises `CallError` where the question is not open."""
    _check_names(record, question)
    folded = fold_log(record)
    if question not in open_covers(unknown_covers(folded)):
        raise _not_open(folded, question)
    fields: dict[str, object] = {"do": "found", question.kind: question.id}
    if question.way is not None:
        fields["way"] = question.way
    key = "clear_of" if not covers else "under" if question.kind == "joint" else "behind"
    return Found.model_validate({**fields, key: [question.cover]})


def question_of(joint: str | None, way: int | None, part: str | None, bundle: str | None, cover: str) -> OpenCover:
    """The question that a call names; raises `CallError` unless it names one of joint, part and bundle."""
    given: list[tuple[Kind, str]] = []
    kinds: tuple[tuple[Kind, str | None], ...] = (("joint", joint), ("part", part), ("bundle", bundle))
    given += [(kind, name) for kind, name in kinds if name is not None]
    if len(given) != 1:
        message = f"{len(given)} of --joint, --part and --bundle are given"
        raise CallError("answer.which", "", message, "name one: what the question is about")
    kind, name = given[0]
    if kind != "joint" and way is not None:
        raise CallError("answer.way-without-joint", "--way", f"a {kind} has no ways", "leave --way out")
    return OpenCover(kind, name, (way or 0) if kind == "joint" else None, cover)


def _check_names(record: Record, question: OpenCover) -> None:
    known = {"joint": [*record.joints], "part": [*record.parts], "bundle": [*record.bundles]}
    _check_name(question.id, known[question.kind], question.kind, f"--{question.kind}")
    _check_name(question.cover, record.parts, "part", "--cover")
    if question.kind == "joint":
        ways = record.joints[question.id].ways
        if (question.way or 0) >= len(ways):
            message = f'"{question.id}" has {len(ways)} way{"" if len(ways) == 1 else "s"}, counted from 0'
            raise CallError("answer.way-out-of-range", "--way", message, f"give a number from 0 to {len(ways) - 1}")


def _check_name(name: str, known: Iterable[str], kind: str, where: str) -> None:
    names = list(known)
    if name not in names:
        near = difflib.get_close_matches(name, names, 1)
        remedy = f'did you mean "{near[0]}"?' if near else f"name one of {', '.join(names) or 'none'}"
        raise CallError("answer.unknown-name", where, f'the record has no {kind} "{name}"', remedy)


def _not_open(folded: Record, question: OpenCover) -> CallError:
    """Say why a question is not open; `folded` is the record with its answers so far."""
    surveyed, log = _surveyed(folded, question), passed(folded)
    seen = {"joint": log.joints, "part": log.parts, "bundle": log.bundles}[question.kind].get(question.id)
    listed = surveyed.under if isinstance(surveyed, Way) else surveyed.behind
    cover, place = question.cover, question.place
    remedy = "see 'unfasten ask' for what is open"
    if any(cover in clause for clause in listed):
        message = f'"{cover}" is listed as a cover already'
        remedy = "correct the record if that is wrong"
    elif cover in surveyed.clear_of:
        message = f'"{cover}" is known to be clear already'
        remedy = "correct the record if that is wrong"
    elif not partial(folded, surveyed):
        message = "its survey is full: all its covers are listed"
        remedy = "set 'survey: partial' there first if that is not so"
    elif seen is None:
        message = "the log never reached it"
        remedy = "enter in the log how it was released or lifted"
    elif cover not in seen:
        message = f'"{cover}" had not come out before it in the log, so it was seen to be no cover'
    else:
        message = f'"{cover}" is itself what it holds or lifts'
    return CallError("answer.not-open", place, message, remedy)


def _surveyed(record: Record, question: OpenCover) -> Way | Lift:
    if question.kind == "joint":
        return record.joints[question.id].ways[question.way or 0]
    return lift_of(record.parts[question.id]) if question.kind == "part" else record.bundles[question.id].lift
