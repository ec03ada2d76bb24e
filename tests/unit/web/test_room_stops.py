"""A room that is closed lets go of the store only when its threads have done so."""

from __future__ import annotations

import asyncio
from threading import Event
from typing import Any, cast

from unfasten.web.room import Room


class SlowBench:
    """A bench that is looking into its ledger until it is let go."""

    record = "slab"

    def __init__(self) -> None:
        self.began, self.go, self.is_over = Event(), Event(), False

    def refresh(self) -> int:
        self.began.set()
        self.go.wait()
        self.is_over = True
        return 0


def test_what_a_thread_had_begun_is_waited_for() -> None:
    async def live() -> SlowBench:
        bench = SlowBench()
        room = Room(cast(Any, bench))
        room.start()
        room.wake.set()
        await asyncio.to_thread(bench.began.wait)
        stopping = asyncio.create_task(room.stop())
        for _ in range(20):
            await asyncio.sleep(0)
        assert not stopping.done()
        bench.go.set()
        await stopping
        return bench

    assert asyncio.run(live()).is_over
