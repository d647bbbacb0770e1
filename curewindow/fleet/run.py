"""All boats of a folder side by side: a process each, as many at a time as there are cores."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Generator
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from curewindow.boat.folder import BOAT_FILE
from curewindow.errors import EXIT_FAULT, NotFoundError
from curewindow.fleet.models import FleetBoat

# What every boat needs is imported once and shared, where processes can be forked off a server.
_PRELOADED = ["curewindow.fleet.one", "curewindow.order.model", "ortools.sat.python.cp_model"]
_END_S = 2.0


@dataclass(frozen=True, slots=True)
class Asked:
    """How each boat is planned; see :func:`curewindow.fleet.one.planned`."""

    at: str | None = None
    seconds: float = 30.0
    days: float | None = None
    in_time: bool = False
    kept: bool = False


def boats_in(place: Path) -> list[Path]:
    """The boat folders in a folder, by name.

    Raises
    ------
    NotFoundError
        No such folder, or no boat in it.
    """
    if not place.is_dir():
        raise NotFoundError(f"there is no folder {place}")
    found = sorted(each for each in place.iterdir() if (each / BOAT_FILE).exists())
    if not found:
        raise NotFoundError(f"no folder in {place} has a {BOAT_FILE}: each boat has one of its own")
    return found


def plan_all(
    folders: list[Path], asked: Asked, *, at_once: int | None = None
) -> Generator[FleetBoat]:
    """Plan boats side by side; their answers in the order of the folders, as soon as there.

    A boat that is broken, or whose process dies, is told so in its own answer. Left early, as
    by Ctrl-C, no process stays behind.

    Parameters
    ----------
    folders : list of Path
    asked : Asked
    at_once : int, optional
        Processes at a time; else the cores there are for this one.
    """
    context = _context()
    room = max(1, at_once or _cores())
    coming = iter(enumerate(folders))
    running: dict[Connection, tuple[int, BaseProcess]] = {}
    answers: dict[int, FleetBoat] = {}
    told = 0
    try:
        while told < len(folders):
            while len(running) < room and (following := next(coming, None)) is not None:
                number, folder = following
                running.update([_begun(context, number, folder, asked)])
            for ready in wait(list(running)):
                assert isinstance(ready, Connection)
                number, process = running.pop(ready)
                answers[number] = _heard(ready, process, folders[number])
            while told in answers:
                yield answers.pop(told)
                told += 1
    finally:
        _end([process for _, process in running.values()])


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _context() -> Any:
    if "forkserver" in multiprocessing.get_all_start_methods():
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(_PRELOADED)
        return context
    return multiprocessing.get_context("spawn")


def _begun(
    context: Any, number: int, folder: Path, asked: Asked
) -> tuple[Connection, tuple[int, BaseProcess]]:
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=_work, args=(folder, asked, there), daemon=True)
    process.start()
    there.close()  # the end of the process is then the end of the pipe
    return here, (number, process)


def _work(folder: Path, asked: Asked, answer_to: Connection) -> None:
    """In the process of one boat."""
    # Ctrl-C goes to all a terminal started: whoever asked decides what becomes of this
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(nowhere, stream)
    from curewindow.fleet.one import planned

    answer = planned(
        folder,
        asked.at,
        seconds=asked.seconds,
        days=asked.days,
        in_time=asked.in_time,
        kept=asked.kept,
    )
    answer_to.send_bytes(answer.model_dump_json().encode())
    answer_to.close()


def _heard(ready: Connection, process: BaseProcess, folder: Path) -> FleetBoat:
    """What a process answered; where it died, that."""
    told: Callable[[], bytes] = ready.recv_bytes
    try:
        answer = FleetBoat.model_validate_json(told())
    except (EOFError, OSError):
        process.join()
        answer = FleetBoat(
            folder=folder.name,
            boat=folder.name,
            problem=_died(process.exitcode),
            exit_code=EXIT_FAULT,
        )
    ready.close()
    process.join()
    return answer


def _died(code: int | None) -> str:
    if code is not None and code < 0:
        with suppress(ValueError):
            return f"its process was ended by {signal.Signals(-code).name}: is there memory enough?"
    return f"its process ended by itself ({code})"


def _end(processes: list[BaseProcess]) -> None:
    for each in processes:
        each.terminate()
    for each in processes:
        each.join(_END_S)
        if each.is_alive():
            each.kill()
            each.join()
