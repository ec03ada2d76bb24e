"""The battery of a record for the doors: its sheet, the change against a predecessor, and the cautions with reasons."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.battery.difference import Change, changes
from unfasten.battery.handling import Heating, Reason, heatings_in_log
from unfasten.battery.sheet import Sheet, sheet_of
from unfasten.battery.transport import NOT_CODED
from unfasten.evidence.datafile import load_data
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.service.cautions import Care, battery_parts, cares, deference, stop_of


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution about a battery, with what the record shows and what to look at where that is not known."""

    care: Care
    reasons: tuple[Reason, ...]

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {
            "id": self.care.id,
            "title": self.care.title,
            "text": self.care.text,
            "source": self.care.source,
            "because": [reason.because for reason in self.reasons],
            "look": [reason.look for reason in self.reasons if reason.look],
        }


@dataclass(frozen=True, slots=True)
class BatteryAnswer:
    """One battery of a product on a day. `changes` is empty without a predecessor; `against` names it."""

    product: str
    product_id: str
    sheet: Sheet
    cautions: tuple[Caution, ...]
    stop: Care | None
    deference: str
    not_coded: tuple[str, ...]
    against: str | None = None
    changes: tuple[Change, ...] = ()
    remarks: tuple[str, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Give the JSON form; every figure that is unknown is null and says what to look at."""
        sheet = self.sheet
        return {
            "product": self.product_id,
            "part": sheet.part,
            "on": sheet.on.isoformat(),
            "facts": [fact.as_json() for fact in sheet.facts],
            "energy": {"verdict": sheet.energy.verdict, "says": sheet.energy.says, "look": sheet.energy.look},
            "designation": sheet.designation,
            "readings": [one.as_json() for one in sheet.readings],
            "room": sheet.room.as_json(),
            "transport": {
                "un_numbers": sheet.un_numbers,
                "road": sheet.road,
                "rulings": [ruling.as_json() for ruling in sheet.transport],
                "not_coded": list(self.not_coded),
            },
            "stop": None if self.stop is None else {"title": self.stop.title, "text": self.stop.text},
            "cautions": [caution.as_json() for caution in self.cautions],
            "deference": self.deference,
            "against": self.against,
            "changes": [change.as_json() for change in self.changes],
            "remarks": list(self.remarks),
        }


def battery_answers(record: Record, on: date, against: Record | None = None) -> tuple[BatteryAnswer, ...]:
    """Answer for every battery of a record; `against` is the predecessor's record.

    Raises `CallError` where one of the records has no battery, or several and none of the same id.
    """
    parts = battery_parts(record)
    if not parts:
        raise _none(record)
    return tuple(_answer(record, part, on, against) for part in parts)


def _answer(record: Record, part: str, on: date, against: Record | None) -> BatteryAnswer:
    sheet, stop = sheet_of(record, part, _heatings(record, part), on), stop_of(record)
    old = None if against is None else sheet_of(against, _counterpart(against, part), (), on)
    remarks = list(sheet.remarks)
    if against is not None and record.product.predecessor not in (None, against.product.id):
        named, taken = record.product.predecessor, against.product.id
        remarks.append(f"the record names {named} as its predecessor; here it is compared with {taken}")
    return BatteryAnswer(
        product=record.product.name,
        product_id=record.product.id,
        sheet=sheet,
        cautions=_cautions(sheet.reasons, stop),
        stop=stop,
        deference=deference(),
        not_coded=NOT_CODED,
        against=None if against is None else against.product.id,
        changes=() if old is None else changes(old, sheet),
        remarks=tuple(remarks),
    )


def _counterpart(record: Record, part: str) -> str:
    parts = battery_parts(record)
    if part in parts or len(parts) == 1:
        return part if part in parts else parts[0]
    if not parts:
        raise _none(record)
    message = f"{record.product.id} has several batteries and none called {part}: {', '.join(parts)}"
    raise CallError("pack.several", "--against", message, "give the batteries that belong together the same id")


def _none(record: Record) -> CallError:
    message = f"{record.product.id} has no battery"
    return CallError("pack.none", "record", message, "write 'role: battery' or the key battery at its part")


def _heatings(record: Record, part: str) -> tuple[Heating, ...]:
    """Heatings of the log and of the battery's own joints, and those on the shortest routes to it."""
    from unfasten.routes.solve import solve

    found = {(heating.joint, heating.way): heating for heating in heatings_in_log(record, part)}
    reach = None if record.parts[part].stays else solve(record, [part])[part]
    routes = [] if reach is None else [route for route in (reach.low, reach.high) if route is not None]
    for action in (action for route in routes for action in route.actions):
        if action.do == "prepare" and action.what == "heat" and action.joint is not None:
            key = (action.joint, action.way or 0)
            found.setdefault(key, Heating(*key, used=False))
    return tuple(found.values())


@cache
def _own_cares() -> tuple[Care, ...]:
    tree = load_data(Path(str(resources.files("unfasten.battery") / "handling.yaml")))
    return tuple(Care(**item) for item in tree["cautions"])


def battery_cares() -> tuple[Care, ...]:
    """Every caution that may be shown for a battery: those of the report first, then those of the battery room."""
    return (*cares(), *_own_cares())


def _cautions(reasons: Sequence[Reason], stop: Care | None) -> tuple[Caution, ...]:
    """Cautions in order of their reasons; where there is a stop, it alone and what to do if the cell burns."""
    by_id = {care.id: care for care in battery_cares()}
    wanted = ["lithium-cell", *(reason.care for reason in reasons), "lithium-fumes"]
    if stop is not None:
        wanted = [stop.id, "lithium-fumes"]
    return tuple(Caution(by_id[name], _of(reasons, name)) for name in dict.fromkeys(wanted))


def _of(reasons: Iterable[Reason], name: str) -> tuple[Reason, ...]:
    return tuple(reason for reason in reasons if reason.care == name)
