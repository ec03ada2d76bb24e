"""Folded ledgers kept between calls, so that an entry costs what it adds and not what was there before."""

from __future__ import annotations

import zlib
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from typing import Final

from unfasten.record.ledger import Folder
from unfasten.store.entry import Entry

#: records whose ledgers are kept folded
KEPT: Final = 32
#: turns that records share
TURNS: Final = 64


class Folders:
    """Folded ledgers by record. One thread at a time holds a record's; after an error it is folded anew.

    A thread holds one record at a time, so that records may share their turns.
    """

    def __init__(self) -> None:
        self._guard = Lock()
        self._turns = tuple(Lock() for _ in range(TURNS))
        self._kept: OrderedDict[str, Folder[Entry]] = OrderedDict()

    @contextmanager
    def hold(self, record: str) -> Iterator[Folder[Entry]]:
        """Hold the folded ledger of a record, perhaps behind its store; it is kept only if the block ends well."""
        with self._turns[zlib.crc32(record.encode("utf-8", "surrogatepass")) % TURNS]:
            with self._guard:
                folder = self._kept.pop(record, None) or Folder[Entry]()
            yield folder
            with self._guard:
                self._kept[record] = folder
                while len(self._kept) > KEPT:
                    self._kept.popitem(last=False)


def folded(entries: Iterator[Entry] | tuple[Entry, ...], upto_seq: int | None = None) -> Folder[Entry]:
    """Fold entries, oldest first, up to and with number `upto_seq`."""
    folder = Folder[Entry]()
    for entry in entries:
        if upto_seq is None or entry.seq <= upto_seq:
            folder.add(entry)
    return folder
