"""Honest pages while hostile clients hold lines: idle, dribbling, asking for half, reconnecting.

python -m tests.bench.crowd [--hostile 200] [--honest 20] [--seconds 30] [--addresses 200]

Everything is on this machine's loopback, each client under an address of its own; it stops by itself.
"""

import argparse
import asyncio
import os
import re
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.bench.clock import Times, head, line, ms

HOST = "127.0.0.1"
PAUSE_S = 0.5  # an honest person reads
AGAIN_S = 0.2  # a hostile one comes back
WITHIN_S = 10.0
WAYS = (b"", b"GET / HT", b"POST /login HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60\r\n\r\nt", b"G")
PATHS = ("/", "/start", "/practice/words", "/static/page.css")


@dataclass
class Told:
    """What became of the requests."""

    seconds: list[float] = field(default_factory=list)
    lost: int = 0
    held: int = 0  # connections that hostile clients opened


async def _request(port: int, address: str, path: str) -> int:
    opening = asyncio.open_connection(HOST, port, local_addr=(address, 0))
    reader, writer = await asyncio.wait_for(opening, WITHIN_S)
    try:
        writer.write(f"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n".encode())
        answer = await asyncio.wait_for(reader.read(), WITHIN_S)
        return int(answer[9:12]) if answer[9:12].isdigit() else 0
    finally:
        writer.close()


async def _honest(port: int, number: int, end: float, told: Told) -> None:
    await asyncio.sleep(PAUSE_S * number / 20)
    asked = 0
    while time.monotonic() < end:
        began = time.monotonic()
        try:
            status = await _request(port, f"127.0.2.{number + 1}", PATHS[asked % len(PATHS)])
        except (OSError, TimeoutError):
            status = 0
        told.seconds.append(time.monotonic() - began)
        told.lost += status != 200
        asked += 1
        await asyncio.sleep(PAUSE_S)


async def _hostile(port: int, number: int, addresses: int, end: float, told: Told) -> None:
    """Holds one line as long as it lasts, a byte now and then, and comes back at once when it is cut."""
    way, place = WAYS[number % len(WAYS)], number % addresses
    while time.monotonic() < end:
        try:
            source = (f"127.0.{3 + place // 250}.{place % 250 + 1}", 0)
            reader, writer = await asyncio.open_connection(HOST, port, local_addr=source)
        except OSError:
            await asyncio.sleep(AGAIN_S)
            continue
        told.held += 1
        writer.write(way)
        try:
            await _hold(reader, writer, way, end)
        except OSError:
            pass
        finally:
            writer.close()
        await asyncio.sleep(AGAIN_S)


async def _hold(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, way: bytes, end: float) -> None:
    while time.monotonic() < end:
        try:
            if not await asyncio.wait_for(reader.read(4096), 1.0):
                return
        except TimeoutError:
            if way == WAYS[-1]:
                writer.write(b"E")


async def _played(port: int, args: argparse.Namespace) -> tuple[Told, Told]:
    alone, crowded = Told(), Told()
    for told, hostile in ((alone, 0), (crowded, args.hostile)):
        end = time.monotonic() + args.seconds
        crowd = [asyncio.create_task(_hostile(port, n, args.addresses, end, told)) for n in range(hostile)]
        await asyncio.sleep(1.0 if hostile else 0.0)
        await asyncio.gather(*(_honest(port, n, end, told) for n in range(args.honest)))
        for task in crowd:
            task.cancel()
        await asyncio.gather(*crowd, return_exceptions=True)
    return alone, crowded


def main() -> None:
    """Print how honest requests fare alone and among hostile ones."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.crowd", description=str(__doc__).split("\n")[0])
    for name, many in (("hostile", 200), ("honest", 20), ("seconds", 30), ("addresses", 200)):
        parser.add_argument(f"--{name}", type=int, default=many)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "diagnose", "serve", "--port", "0", "--visits", str(Path(folder, "visits"))]
        place = {**os.environ, "XDG_DATA_HOME": folder, "DIAGNOSE_PASSWORD": ""}
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=place) as serving:
            try:
                says = serving.stdout.readline() if serving.stdout else ""
                port = int(re.findall(r":(\d+)/", says)[0])
                alone, crowded = asyncio.run(_played(port, args))
            finally:
                serving.terminate()
    head(f"{args.honest} honest and {args.hostile} hostile clients of {args.addresses} addresses")
    for what, told in (("honest alone", alone), ("honest among hostile ones", crowded)):
        times = Times(told.seconds)
        says = f"{len(told.seconds)} requests, {told.lost} lost, {times}, longest {ms(max(told.seconds))}"
        line(what, says + (f"; {told.held} lines held" if told.held else ""))


if __name__ == "__main__":
    main()
