"""The page under load: 200 clients at once on this machine while everything is worked out anew.

``python tests/benchmarks/bench_page.py`` prints how long answers take, how large pages are, and
what the server needs. The server is a process of its own; so are the clients.
"""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parents[2]))

CLIENTS, SECONDS = 200, 20.0
PAGES = ("/", "/space?name=saloon", "/jobs", "/job?name=chart%20table", "/api/today", "/log")
PORT = 8765
BASE = f"http://127.0.0.1:{PORT}"
MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def serve(folder: str) -> None:
    """The server: the demo boat's morning, worked out again and again."""
    import uvicorn
    from curewindow_service.page import PageSettings, create_app

    began = time.time()

    def clock() -> datetime:
        return datetime.fromtimestamp(int(MORNING.timestamp() + time.time() - began), UTC)

    # always due: the forecast refreshes during the whole of the run
    settings = PageSettings(refresh_s=1.0, between_s=0.5)
    uvicorn.run(
        create_app(Path(folder), clock=clock, settings=settings), port=PORT, log_level="warning"
    )


async def answered(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, address: str) -> int:
    """One request on a kept connection, by hand: the clients must not take the server's time."""
    writer.write(
        f"GET {address} HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept-Encoding: gzip\r\n\r\n".encode()
    )
    head = await reader.readuntil(b"\r\n\r\n")
    length = int(head.lower().partition(b"content-length:")[2].split()[0])
    await reader.readexactly(length)
    return int(head.split()[1])


async def client(number: int, until: float, times: dict[str, list[float]]) -> int:
    """Somebody who looks at one page after the other, a second apart; returns bad answers."""
    bad = 0
    await asyncio.sleep(number / CLIENTS)
    reader, writer = await asyncio.open_connection("127.0.0.1", PORT)
    turn = number
    while time.perf_counter() < until:
        address = PAGES[turn % len(PAGES)]
        began = time.perf_counter()
        bad += await answered(reader, writer, address) != 200
        times[address].append(time.perf_counter() - began)
        turn += 1
        await asyncio.sleep(max(1.0 - (time.perf_counter() - began), 0.0))
    writer.close()
    return bad


async def look(until: float) -> int:
    """A page that waits for news; returns how many came."""
    news = 0
    reader, writer = await asyncio.open_connection("127.0.0.1", PORT)
    writer.write(b"GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
    try:
        async with asyncio.timeout_at(asyncio.get_running_loop().time() + SECONDS + 2.0):
            while time.perf_counter() < until:
                news += (await reader.readline()).startswith(b"data:")
    except TimeoutError:
        pass
    writer.close()
    return news


async def load() -> None:
    """All clients at once; prints what they met."""
    times: dict[str, list[float]] = {address: [] for address in PAGES}
    until = time.perf_counter() + SECONDS
    rounds = _rounds()
    asked = [client(number, until, times) for number in range(CLIENTS)]
    waiting = [asyncio.create_task(look(until)) for _ in range(CLIENTS)]
    bad = sum(await asyncio.gather(*asked))
    news = await asyncio.gather(*waiting)
    every = sorted(each for part in times.values() for each in part)
    print(f"{CLIENTS} clients, each with a page that waits for news, {SECONDS:.0f} s:")
    print(
        f"  {len(every)} answers, {bad} bad, {_rounds() - rounds:.0f} rounds of working out, "
        f"{sum(news)} news"
    )
    for name, part in [("all", every), *((a, sorted(t)) for a, t in times.items())]:
        print(
            f"  {name:<28} median {1000 * _share(part, 0.5):5.0f} ms   "
            f"p95 {1000 * _share(part, 0.95):5.0f} ms   worst {1000 * part[-1]:5.0f} ms"
        )


def _share(values: list[float], share: float) -> float:
    return values[min(int(share * len(values)), len(values) - 1)]


def _rounds() -> float:
    text = httpx.get(f"{BASE}/metrics").text
    line = next(each for each in text.splitlines() if each.startswith("curewindow_rounds "))
    return float(line.split()[1])


def sizes() -> None:
    """Each page alone: bytes with style and script, squeezed and not, and how long it takes."""
    for address in PAGES:
        began = time.perf_counter()
        answer = httpx.get(BASE + address)
        took_s = time.perf_counter() - began
        names = {part.split('"')[0] for part in answer.text.split('"/static/')[1:]}
        files = [httpx.get(f"{BASE}/static/{name}") for name in names]
        plain = sum(len(each.content) for each in [answer, *files])
        sent = sum(int(each.headers["content-length"]) for each in [answer, *files])
        size = f"{plain / 1000:5.1f} kB, {sent / 1000:4.1f} kB sent"
        print(f"  {address:<28} {size}, {1000 * took_s:.0f} ms")


def main() -> None:
    """Start the server, load it, print."""
    from curewindow.demo import files as demofiles

    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "boat"
        environment = {**os.environ, "CUREWINDOW_CACHE": f"{place}/cache"}
        demofiles.write(folder, MORNING)
        command = [sys.executable, __file__, "--serve", str(folder)]
        server = subprocess.Popen(command, env=environment)
        try:
            began = time.perf_counter()
            _wait(lambda: "Go today" in httpx.get(f"{BASE}/").text)
            print(f"from start to the first day sheet {time.perf_counter() - began:.1f} s")
            _wait(lambda: httpx.get(f"{BASE}/api/windows").status_code == 200)
            print(f"to windows and pictures {time.perf_counter() - began:.1f} s")
            sizes()
            before = _cpu_s(server.pid)
            asyncio.run(load())
            share = (_cpu_s(server.pid) - before) / SECONDS
            print(f"server: {share:.2f} of one core, {_resident(server.pid)} MB resident")
        finally:
            server.send_signal(signal.SIGTERM)
            server.wait(20)


def _wait(ready: object) -> None:
    for _ in range(1200):
        try:
            if ready():  # type: ignore[operator]
                return
        except httpx.HTTPError:
            pass
        time.sleep(0.1)
    raise SystemExit("the server has nothing to show")


def _cpu_s(pid: int) -> float:
    """CPU time of the server alone, without the process that works things out."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return float("nan")
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _resident(pid: int) -> str:
    try:
        status = Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return "?"
    return str(
        int(next(line.split()[1] for line in status.splitlines() if "VmRSS" in line)) // 1000
    )


if __name__ == "__main__":
    if sys.argv[1:2] == ["--serve"]:
        serve(sys.argv[2])
    else:
        main()
