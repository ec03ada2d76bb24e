"""Many writers in one process: `python many_writers.py URL FIRST COUNT SETS` prints what was acknowledged.

Writer n sends sets of two entries under ids that follow from n, so that another process can send the same again.
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier
from uuid import NAMESPACE_OID, uuid5

from unfasten.evidence.errors import DataError
from unfasten.store.contract import Kept
from unfasten.store.database import DatabaseStore, open_database
from unfasten.store.entry import Draft, draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
#: every so many-th writer's entries are sent by another process too
TWICE = 10


def drafts(writer: int, turn: int) -> list[Draft]:
    """The entries of a writer's turn: one in the log, and one on an object that all of them edit."""
    ids = [uuid5(NAMESPACE_OID, f"{writer} {turn} {number}") for number in range(2)]
    log = {"entry": {"do": "note", "text": f"{writer} {turn}"}}
    put = {"at": "parts.bulb", "value": {"name": f"Bulb {writer} {turn}"}, "base": None}
    return [
        draft_of("lamp", "log", log, entry=ids[0], at=NOW, by=str(writer)),
        draft_of("lamp", "put", put, entry=ids[1], at=NOW, by=str(writer)),
    ]


def main(url: str, first: int, count: int, sets: int) -> None:
    """Let the writers `first` … write at once, and the shared ones too."""
    store = open_database(url, NOW)
    mine = [*range(first, first + count), *(n for n in range(0, 10_000, TWICE) if first // count == 0 and n >= count)]
    writers = [n for n in mine if n < 4 * count]
    together = Barrier(len(writers))

    def write(writer: int) -> list[tuple[str, int]]:
        together.wait()
        kept = [one for turn in range(sets) for one in _appended(store, drafts(writer, turn))]
        return [(one.entry.id, one.entry.seq) for one in kept]

    with ThreadPoolExecutor(len(writers)) as pool:
        acknowledged = dict(line for lines in pool.map(write, writers) for line in lines)
    store.close()
    json.dump(acknowledged, sys.stdout)


def _appended(store: DatabaseStore, sent: list[Draft]) -> tuple[Kept, ...]:
    """Append a set; as the error says, it is sent again where others kept the database busy too long."""
    while True:
        try:
            return store.append(*sent)
        except DataError as error:
            if error.code != "store.busy":
                raise


if __name__ == "__main__":
    main(sys.argv[1], *(int(word) for word in sys.argv[2:5]))
