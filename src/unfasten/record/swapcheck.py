"""What swap tests contradict: the pairing that the record lists, or their own words."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.evidence.place import shown
from unfasten.record.place import Remark
from unfasten.record.record import Record
from unfasten.record.swaptest import SwapTest, swap_facts


def swap_remarks(record: Record) -> Iterator[Remark]:
    """Yield a remark for each swap test that contradicts itself, and for each part whose pairing tests contradict."""
    for name, test in record.swap_tests.items():
        yield from _itself(record, name, test)
    for fact in swap_facts(record).values():
        if fact.agrees is False:
            said = ", ".join(fact.recorded) or "no pairing"
            seen = ", ".join(fact.shown or ()) or "none"
            message = f"the record lists {said}, but parts of the same model needed {seen} ({', '.join(fact.tests)})"
            mend = "correct the pairing of the part, or repeat the test with the software noted"
            yield Remark(("parts", fact.part, "pairing"), "record.swap-against-pairing", message, mend)


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
