"""A room for each record that is open: its bench, and the pages that listen to it."""

from __future__ import annotations

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Callable
from datetime import date
from typing import Any, Final, TypeVar

from unfasten.evidence.errors import UnfastenError
from unfasten.service.bench.answers import Answers
from unfasten.service.bench.bench import Bench
from unfasten.store.contract import Store
from unfasten.web.panels import panels, question_panel

#: other servers on the same database are looked after this often [s]
POLL_S: Final = 2.0
QUIET_S: Final = 15.0
T = TypeVar("T")
#: messages that a page may be behind before it has to begin anew
BEHIND: Final = 200


class Room:
    """One record's bench with its listeners; the worker computes answers, newest state first."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.listeners: set[asyncio.Queue[str]] = set()
        self.wake = asyncio.Event()
        self._rows: dict[str, Any] = {}
        self._seq = 0
        self._last: Answers | None = None
        self._task: asyncio.Task[None] | None = None
        self._busy: set[asyncio.Future[Any]] = set()

    def start(self) -> None:
        """Begin to work, in the loop that is running."""
        self._task = asyncio.get_running_loop().create_task(self._work())
        self._task.add_done_callback(self._ended)

    def _ended(self, task: asyncio.Task[None]) -> None:
        """A worker that stumbled over a fault of the program says so and is followed by another."""
        fault = None if task.cancelled() else task.exception()
        if fault is not None:
            logging.getLogger(__name__).error("answers for %s failed", self.bench.record, exc_info=fault)
            remedy = "what was entered is kept; report what the server's log says"
            self.tell("trouble", {"message": "the answers could not be computed", "try": remedy})
            self.start()

    async def stop(self) -> None:
        """Stop working; what a thread had begun is waited for, as the store is closed next."""
        if self._task is not None:
            self._task.cancel()
            await asyncio.gather(self._task, return_exceptions=True)
        await asyncio.gather(*self._busy, return_exceptions=True)

    async def _aside(self, work: Callable[..., T], *given: Any, **named: Any) -> T:
        """Do work in a thread, which goes on to its end even if who waits for it does not."""
        doing = asyncio.ensure_future(asyncio.to_thread(work, *given, **named))
        self._busy.add(doing)
        doing.add_done_callback(self._busy.discard)
        return await asyncio.shield(doing)

    def hush(self) -> None:
        """End every stream; pages come back by themselves."""
        for queue in list(self.listeners):
            self.listeners.discard(queue)
            if not queue.full():
                queue.put_nowait("")

    async def listen(self, after: int, welcome: Callable[[], bool]) -> AsyncIterator[str]:
        """Messages for one page: what it has missed, then what happens, as long as it is `welcome`."""
        queue: asyncio.Queue[str] = asyncio.Queue(BEHIND)
        self.listeners.add(queue)
        try:
            rows = await self._aside(self.bench.rows, after)
            yield message("rows", [row.as_json() for row in rows])
            self.wake.set()
            self._last = None
            while True:
                try:
                    async with asyncio.timeout(QUIET_S):
                        told = await queue.get()
                except TimeoutError:
                    told = ": still here\n\n"
                if queue not in self.listeners or not await self._aside(welcome):
                    return
                yield told
        finally:
            self.listeners.discard(queue)

    def tell(self, event: str, data: Any) -> None:
        """Send a message to every page; one that is too far behind is dropped and begins anew."""
        text = message(event, data)
        for queue in list(self.listeners):
            if queue.full():
                self.listeners.discard(queue)
            else:
                queue.put_nowait(text)

    async def _work(self) -> None:
        while True:
            try:
                async with asyncio.timeout(POLL_S):  # wait_for of 3.11 may swallow that it is stopped
                    await self.wake.wait()
            except TimeoutError:
                if not self.listeners:
                    continue
            self.wake.clear()
            try:
                await self._round()
            except UnfastenError as error:
                self.tell("trouble", {"message": error.message, "try": error.remedy, "code": error.code})

    async def _round(self) -> None:
        seq = await self._aside(self.bench.refresh)
        if seq > self._seq:
            rows = {row.id: row.as_json() for row in await self._aside(self.bench.rows)}
            self.tell("rows", [row for name, row in rows.items() if self._rows.get(name) != row])
            self._rows, self._seq = rows, seq
        if not self.listeners or (self._last is not None and self._last.seq == seq):
            return
        answers = await self._aside(self.bench.answers)
        self._last = answers
        self.tell("answers", await self._aside(panels, answers))
        for search in (False, True):  # the quick estimate first, then the exact order if nothing new has come
            if not self.wake.is_set():
                asked = await self._aside(self.bench.with_questions, answers, search=search)
                self.tell("questions", {"seq": asked.seq, "html": question_panel(asked), "exact": search})


class Hub:
    """Rooms by record."""

    def __init__(self, store: Store, on: date) -> None:
        self.store = store
        self.on = on
        self._rooms: dict[str, Room] = {}
        self._lock = asyncio.Lock()

    async def room(self, record: str) -> Room:
        """The room of a record; `DataError` (`store.unknown-record`) if there is no such record."""
        async with self._lock:
            if record not in self._rooms:
                bench = await asyncio.to_thread(Bench, self.store, record, self.on)
                self._rooms[record] = Room(bench)
                self._rooms[record].start()
            return self._rooms[record]

    def hush(self) -> None:
        """End every stream."""
        for room in self._rooms.values():
            room.hush()

    async def stop(self) -> None:
        """Close every room."""
        for room in self._rooms.values():
            await room.stop()


def message(event: str, data: Any) -> str:
    """A message of the event stream (WHATWG HTML, server-sent events)."""
    return f"event: {event}\ndata: {json.dumps(data, ensure_ascii=False, separators=(',', ':'))}\n\n"
