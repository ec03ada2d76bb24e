"""Comparing two to eight records: parts aligned, and the differences between each two neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from unfasten.compare.difference import Difference
from unfasten.compare.jointfacts import joint_differences
from unfasten.compare.match import Row, align
from unfasten.compare.partfacts import part_differences
from unfasten.compare.pins import Pins
from unfasten.compare.promises import (
    bundle_differences,
    product_differences,
    promise_differences,
    swing_differences,
)
from unfasten.compare.sides import pair_up
from unfasten.compare.structure import Structure
from unfasten.evidence.errors import CallError
from unfasten.record.record import Record

FEWEST: Final = 2
MOST: Final = 8


@dataclass(frozen=True)
class Compared:
    """Records side by side. `steps` are the neighbours, in the order given, each pair with its differences."""

    records: tuple[Record, ...]
    rows: tuple[Row, ...]
    steps: tuple[tuple[Structure, tuple[Difference, ...]], ...]


def compare_records(records: Sequence[Record], pins: Pins | None = None) -> Compared:
    """Compare the records; raises `CallError` for fewer than two or more than eight."""
    if not FEWEST <= len(records) <= MOST:
        remedy = f"name {FEWEST} to {MOST} records"
        raise CallError("compare.count", "RECORDS", f"{len(records)} records cannot be compared", remedy)
    rows = align(records, pins)
    found = [Structure(pair_up(records, rows, number, number + 1)) for number in range(len(records) - 1)]
    return Compared(tuple(records), rows, tuple((structure, differences_of(structure)) for structure in found))


def differences_of(structure: Structure) -> tuple[Difference, ...]:
    """Differences that the two records themselves show: parts, joints, structure, offers; routes and scores not."""
    return (
        *structure.differences(),
        *part_differences(structure.pair),
        *joint_differences(structure),
        *promise_differences(structure),
        *swing_differences(structure),
        *bundle_differences(structure),
        *product_differences(structure),
    )
