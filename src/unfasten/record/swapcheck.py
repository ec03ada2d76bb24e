"""What swap tests contradict: the pairing that the record lists, one another, or their own words."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.evidence.place import shown
from unfasten.record.place import Remark
from unfasten.record.record import Record
from unfasten.record.swapfact import swap_facts
from unfasten.record.swaptest import SwapTest


def swap_remarks(record: Record) -> Iterator[Remark]:
    """Yield a remark for each test that contradicts itself, and for each part whose pairing tests do not settle."""
    for name, test in record.swap_tests.items():
        yield from _itself(record, name, test)
    for fact in swap_facts(record).values() if record.swap_tests else ():
        found, at = fact.pairing, ("parts", fact.part, "pairing")
        if found.agrees is False:
            mend = "correct the pairing of the part, or repeat the test with the software noted"
            yield Remark(at, "record.swap-against-pairing", found.why, mend)
        elif found.basis == "conflict":
            mend = "repeat the test with another unit; where software differs, write 'software' and 'on' in each"
            yield Remark(at, "record.swap-conflict", found.why, mend)
        elif found.basis == "open":
            mend = "repeat the test with a sound part, and write what the device asked for in 'asked'"
            yield Remark(at, "record.swap-open", found.why, mend)


def _itself(record: Record, name: str, test: SwapTest) -> Iterator[Remark]:
    here = ("swap_tests", name)
    own, donor = record.product.id, test.donor
    if donor.product is not None and (donor.source == "same-model") != (donor.product == own):
        message = f"the donor is called {donor.source}, and its product {shown(donor.product)}"
        yield Remark((*here, "donor"), "record.swap-source", message, "correct 'source' or 'product'")
    if test.fitted == "does-not-fit" and test.accepted is not None:
        message = f"the part did not fit, and yet it was taken: {test.accepted}"
        yield Remark(
            (*here, "accepted"), "record.swap-not-fitted", message, "correct 'fitted', or leave 'accepted' out"
        )
    if test.accepted == "full" and test.lost:
        message = f"accepted in full, and yet {len(test.lost)} functions were lost"
        yield Remark((*here, "accepted"), "record.swap-lost", message, "write 'accepted: limited'")
    if test.accepted is not None and test.software is None:
        mend = "write the version that the device ran, as in 'software: 4.1'"
        yield Remark(here, "record.swap-software", "the software of this test is not stated", mend)
