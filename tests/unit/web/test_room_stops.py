"""A room that is closed lets go of the store only when its threads have done so."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from threading import Event
from typing import Any, TypeVar, cast

import pytest
from tests.support.patience import PATIENCE_S
from tests.support.web import Loop

from unfasten.web.room import Room

T = TypeVar("T")


def in_a_loop(work: Coroutine[Any, Any, T]) -> T:
    """Do work in a loop of a thread of its own: this thread may have a browser's loop."""
    loop = Loop()
    try:
        return loop.run(work)
    finally:
        loop.close()


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

    assert in_a_loop(live()).is_over


class QuickBench:
    """A bench to which nothing has happened."""

    record = "slab"

    def refresh(self) -> int:
        return 0


@pytest.mark.parametrize("turns", range(6))
def test_a_room_that_is_just_being_woken_stops_too(turns: int) -> None:
    async def live() -> None:
        room = Room(cast(Any, QuickBench()))
        room.start()
        for _ in range(3):
            await asyncio.sleep(0)
        room.wake.set()
        for _ in range(turns):
            await asyncio.sleep(0)
        async with asyncio.timeout(PATIENCE_S):
            await room.stop()

    in_a_loop(live())
