"""The best single changes of a record, and the best pairs: every one that can matter is evaluated exactly."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from unfasten.evidence.errors import CallError
from unfasten.record.change import settled
from unfasten.record.record import Record
from unfasten.record.suggest import remedy
from unfasten.rules.library import edition
from unfasten.rules.scoring import number
from unfasten.service.assess import DEFAULT_RULES
from unfasten.service.change import Change, catalogue, supply_changes
from unfasten.service.gauge import IndexGauge, PartGauge
from unfasten.service.ranking import Gain, ranked, single
from unfasten.service.trial import Stand

INDEX: Final = "index"


@dataclass(frozen=True, slots=True)
class Best:
    """The best changes of a record, best first, each better than none; `tried` counts the changes of the catalogue."""

    stand: Stand
    gauge: IndexGauge | PartGauge
    singles: tuple[Gain, ...]
    pairs: tuple[Gain, ...]
    tried: int


def best_changes(
    record: Record,
    on: date,
    target: str = INDEX,
    *,
    pairs: bool = False,
    limit: int = 5,
    ruleset: str = DEFAULT_RULES,
) -> Best:
    """Search the catalogue for the largest gain in the index, or the fewest steps to the part `target`.

    Raises `CallError` for an unknown part, or where the rules give no index.
    """
    record = settled(record)
    gauge: IndexGauge | PartGauge
    if target == INDEX:
        stand = Stand(record, priority_parts(record))
        gauge = IndexGauge(stand, on, ruleset)
        changes = catalogue(record, stand.events(), stand.targets) + offers(record, ruleset, on)
    else:
        _check_part(record, target)
        stand = Stand(record, [target], ordered=False)
        gauge = PartGauge(stand, target)
        changes = catalogue(record, stand.events(), stand.targets)
        changes = [change for change in changes if change.touched is None or change.touched or _pairs(change)]
    singles = tuple(ranked(stand, gauge, [single(stand, gauge, change) for change in changes], limit))
    both: tuple[Gain, ...] = ()
    if pairs:
        from unfasten.service.pairs import best_pairs

        both = best_pairs(stand, gauge, changes, limit)
    return Best(stand, gauge, singles, both, len(changes))


def priority_parts(record: Record) -> list[str]:
    """Parts with a role that a rule set may name, in the record's order."""
    return [name for name, part in record.parts.items() if part.role not in (None, "other") and not part.stays]


def offers(record: Record, ruleset: str, on: date) -> list[Change]:
    """What the maker could offer more, at the years where the rules give more points."""
    rules = edition(ruleset)
    years = [int(number(row, "at_least")) for row in rules.parameters["updates.points"].on(on).rows]
    roles = [str(record.parts[name].role) for name in priority_parts(record)]
    return supply_changes(record, sorted(years), list(dict.fromkeys(roles)))


def _check_part(record: Record, name: str) -> None:
    part = record.parts.get(name)
    if part is None:
        mend = remedy(name, [INDEX, *record.parts], "write index, or one of")
        raise CallError("whatif.unknown-part", "--for", f'the record has no part "{name}"', mend)
    if part.stays:
        raise CallError("whatif.part-stays", "--for", f'"{name}" is the part that stays', "name a part that lifts")


def _pairs(change: Change) -> bool:
    return change.edit.path[-1] == "pairing"
