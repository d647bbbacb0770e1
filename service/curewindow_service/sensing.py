"""The sensors beside the service: a listener in a thread, told after each look what to expect."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable

from curewindow_service.app import Service
from curewindow_service.look import Looked


def sensor_part(service: Service) -> Callable[[asyncio.Event], Awaitable[None]]:
    """Something for :func:`curewindow_service.schedule.run_service` to run along."""

    async def run(stop: asyncio.Event) -> None:
        from curewindow_service.sensors import Listener, SensorLine

        def write(told: SensorLine) -> None:
            if told.what == "kept" and told.reading is not None:
                service.heard(told.reading)

        listener = Listener(service.folder, clock=service.clock, tell=write)
        service.sensors = listener.status
        ended = threading.Event()

        def know(found: Looked) -> None:
            from curewindow_service.sensors.expected import ExpectedCourse, around_by

            if found.expected is not None:
                listener.know(around_by(ExpectedCourse.model_validate(found.expected)))

        service.after_look = know
        thread = threading.Thread(target=listener.run, args=(ended,), name="sensors", daemon=True)
        thread.start()
        try:
            await stop.wait()
        finally:
            ended.set()
            await asyncio.to_thread(thread.join, 10.0)

    return run
