"""The process that works things out: answers, errors, being killed, and the end."""

from __future__ import annotations

import asyncio
import os
import signal
import time
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest
from curewindow_service.page import room as rooms
from curewindow_service.page.room import BusyError, Workroom

from curewindow.errors import BoatError, NotFoundError
from tests.page import works


def test_answers_errors_and_a_killed_process(tmp_path: Path) -> None:
    async def played() -> None:
        room = Workroom(own_process=True)
        first = await room.run(os.getpid)
        assert first != os.getpid()
        assert await room.run(os.getpid) == first  # it stays for the next
        with pytest.raises(BoatError) as told:
            await room.run(works.wrong)
        assert (told.value.key, told.value.problem) == ("place", "is missing")
        with pytest.raises(NotFoundError):
            await room.run(works.not_there)
        os.kill(first, signal.SIGKILL)  # as the system does where memory is short
        assert await room.run(os.getpid) not in (first, os.getpid())
        began = time.monotonic()
        late = asyncio.ensure_future(room.run(time.sleep, 60))
        await asyncio.sleep(0.2)
        room.end()
        assert time.monotonic() - began < 10
        with pytest.raises(BrokenProcessPool):
            await late

    asyncio.run(played())


def test_too_much_at_once_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rooms, "MOST_WAITING", 2)

    async def played() -> None:
        room = Workroom(own_process=False)
        waiting = [asyncio.ensure_future(room.run(time.sleep, 0.1)) for _ in range(2)]
        await asyncio.sleep(0)
        with pytest.raises(BusyError):
            await room.run(time.sleep, 0)
        await asyncio.gather(*waiting)
        assert await room.run(lambda: 1) == 1
        room.end()

    asyncio.run(played())
