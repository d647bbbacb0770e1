"""Where long work is done: one process (or thread) at a time, gone again when nothing is to do."""

from __future__ import annotations

import asyncio
import multiprocessing
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from typing import Any, TypeVar

from curewindow.errors import CurewindowError
from curewindow_service.page.workings import settle_in

AnswerT = TypeVar("AnswerT")

STAYS_S = 90.0
"""So long the process stays after its last work: the next one starts at once, and an idle
board has its memory back [s]."""
MOST_WAITING = 24


class BusyError(CurewindowError):
    """Too much is asked at once."""


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """What is started meanwhile never hears Ctrl-C; this process hears it afterwards.

    ``settle_in`` comes too late for a process that is still loading its libraries.
    """
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    from multiprocessing import resource_tracker

    resource_tracker.ensure_running()  # its start lets signals through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Workroom:
    """Runs functions one after the other, away from the answers.

    Parameters
    ----------
    own_process : bool
        In a process, which shares no time with the answers; else in a thread.
    """

    def __init__(self, *, own_process: bool) -> None:
        self._own_process = own_process
        self._executor: Executor | None = None
        self._waiting = 0
        self._ended = False
        self._leaving: asyncio.TimerHandle | None = None

    async def run(self, work: Callable[..., AnswerT], *given: Any) -> AnswerT:
        """Run a function; what it raises is raised here.

        Raises
        ------
        BusyError
            Too many are waiting already.
        """
        if self._waiting >= MOST_WAITING:
            raise BusyError("too much is being worked out at once; try again in a moment")
        self._waiting += 1
        if self._leaving is not None:
            self._leaving.cancel()
        loop = asyncio.get_running_loop()
        try:
            for again in (True, False):
                executor = self._open()
                try:
                    with _deaf_to_interrupts():
                        answer = loop.run_in_executor(executor, work, *given)
                    return await answer
                except BrokenProcessPool:
                    # killed from outside, out of memory perhaps: once more, in a new one
                    if not again or self._ended:
                        raise
                    if self._executor is executor:  # else another one who waited has done it
                        self.close()
            raise AssertionError  # the second time returns or raises
        finally:
            self._waiting -= 1
            if self._waiting == 0:
                self._leaving = loop.call_later(STAYS_S, self.close)

    def _open(self) -> Executor:
        if self._executor is None:
            if self._own_process:
                # not a fork: the parent has threads
                context = multiprocessing.get_context("spawn")
                self._executor = ProcessPoolExecutor(1, context, initializer=settle_in)
            else:
                self._executor = ThreadPoolExecutor(1, thread_name_prefix="page-work")
        return self._executor

    def close(self) -> None:
        """Let the process go; the next work opens another."""
        if self._leaving is not None:
            self._leaving.cancel()
            self._leaving = None
        executor, self._executor = self._executor, None
        if executor is not None:
            # a process is left to itself; a thread would go on writing after its folder is gone
            executor.shutdown(wait=not self._own_process, cancel_futures=True)

    def end(self) -> None:
        """Stop for good, in the middle of its work if need be: nothing waits for that any more."""
        self._ended = True
        executor = self._executor
        if isinstance(executor, ProcessPoolExecutor):
            # the standard library has a public way to it from Python 3.14 on
            for process in list((executor._processes or {}).values()):
                process.terminate()
            executor.shutdown(wait=True, cancel_futures=True)
            self._executor = None
        self.close()
