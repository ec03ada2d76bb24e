"""Which parts of a family may be exchanged for one another, and which of them can be stocked as one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from unfasten.compare.conform import Rule
from unfasten.compare.interchange import Interchange, interchange
from unfasten.compare.match import Row, align
from unfasten.compare.pins import Pins
from unfasten.compare.place import Exchange
from unfasten.compare.pooling import groups
from unfasten.evidence.errors import CallError
from unfasten.evidence.fields import unknown_remedy
from unfasten.record.fold import fold_log
from unfasten.record.record import Record


@dataclass(frozen=True)
class Exchanges:
    """One part over a family: every exchange by (place, donor) as record numbers, and the groups that pool.

    A group holds record numbers; every two of a group are shown to fit in either place. Groups of one are left out.
    """

    row: Row
    found: dict[tuple[int, int], Interchange]
    pools: tuple[tuple[int, ...], ...]


def exchanges(
    records: Sequence[Record], part: str | None = None, *, rule: Rule | None = None, pins: Pins | None = None
) -> tuple[Exchanges, ...]:
    """Judge every exchange of every part, or of `part`, that at least two records have and that does not stay.

    Raises `CallError` for an unknown part, a part of one record only, or another number of records.
    """
    if not 2 <= len(records) <= 8:
        remedy = "name 2 to 8 records"
        raise CallError("compare.count", "RECORDS", f"{len(records)} records cannot be compared", remedy)
    folded = [fold_log(record) for record in records]
    rows = [row for row in align(records, pins) if len(row.members) - row.members.count(None) > 1]
    moving = [row for row in rows if not _stays(folded, row)]
    if part is not None:
        known = [row for row in moving if part in row.members]
        if not known:
            names = tuple(dict.fromkeys(name for row in moving for name in row.members if name is not None))
            message = f"no two records share a part {part}"
            raise CallError("exchange.unknown-part", "--part", message, unknown_remedy(part, names))
        moving = known
    return tuple(_of_row(folded, row, rule or Rule()) for row in moving)


def _stays(records: Sequence[Record], row: Row) -> bool:
    return any(name is not None and record.parts[name].stays for record, name in zip(records, row.members, strict=True))


def _of_row(records: Sequence[Record], row: Row, rule: Rule) -> Exchanges:
    there = [number for number, name in enumerate(row.members) if name is not None]
    found = {
        (place, donor): interchange(
            Exchange(records[place], row.members[place] or "", records[donor], row.members[donor] or ""), rule
        )
        for place in there
        for donor in there
        if place != donor
    }
    pools = groups(there, lambda place, donor: found[place, donor].answer == "fits")
    return Exchanges(row, found, tuple(pool for pool in pools if len(pool) > 1))


def exchanges_json(records: Sequence[Record], found: Sequence[Exchanges], rule: Rule) -> dict[str, object]:
    """Give the JSON form."""
    ids = [record.product.id for record in records]
    return {
        "records": ids,
        "rule": {"says": str(rule), "kind": rule.kind, "limit": rule.limit, "k": rule.k},
        "parts": [
            {
                "members": dict(zip(ids, one.row.members, strict=True)) if len(set(ids)) == len(ids) else None,
                "parts": list(one.row.members),
                "exchanges": [_exchange_json(key, each) for key, each in one.found.items()],
                "pools": [[{"record": number, "id": ids[number]} for number in pool] for pool in one.pools],
            }
            for one in found
        ],
    }


def _exchange_json(key: tuple[int, int], one: Interchange) -> dict[str, object]:
    exchange = one.exchange
    return {
        "place": {"record": key[0], "id": exchange.host.product.id, "part": exchange.place},
        "donor": {"record": key[1], "id": exchange.source.product.id, "part": exchange.donor},
        "answer": one.answer,
        "worst": one.worst.name,
        "next": one.next,
        "contradiction": one.contradiction,
        "criteria": [
            {
                "name": c.name,
                "verdict": c.verdict,
                "says": c.says,
                "probability": None if c.probability is None else round(c.probability, 6),
                "probability_at_most": None if c.bound is None else round(c.bound, 6),
                "measure": c.measure,
                "by_test": c.by_test,
                "informs_only": c.informs,
                "evidence": list(c.evidence),
            }
            for c in one.criteria
        ],
    }
