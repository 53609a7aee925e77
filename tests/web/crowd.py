"""Pages on a real socket, and clients that keep it waiting: each from its own address of this machine."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from diagnose.web.app import build
from diagnose.web.lines import Connections, door_of
from diagnose.web.server import Address, config_of
from tests.web.tab import context

SLOW = {
    "silent": b"",
    "half a head": b"GET / HT",
    "half a body": b"POST /login HTTP/1.1\r\nHost: localhost\r\nContent-Length: 60\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\n\r\ntoken=",
    "idle after an answer": b"GET /static/page.css HTTP/1.1\r\nHost: localhost\r\n\r\n",
}


@contextmanager
def served(folder: Path, lines: Connections) -> Iterator[int]:
    """The port."""
    address = Address("127.0.0.1", 0, local=True)
    server = uvicorn.Server(config_of(build(context(folder), local=True), address, lines))
    with door_of(socket.create_server(("127.0.0.1", 0)), lines) as door:
        port = int(door.getsockname()[1])
        thread = threading.Thread(target=server.run, args=([door],), daemon=True)
        thread.start()
        try:
            yield port
        finally:
            server.should_exit = server.force_exit = True
            thread.join(20)
        assert not thread.is_alive()


def connected(port: int, address: str) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=30, source_address=(address, 0))


def status(port: int, address: str = "127.0.0.1", path: str = "/") -> int:
    """What one honest request is answered with; 0 when it is not."""
    try:
        with connected(port, address) as line:
            line.sendall(f"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n".encode())
            head = line.recv(12)
            return int(head[9:12]) if len(head) == 12 else 0
    except OSError:
        return 0


def is_cut(line: socket.socket) -> bool:
    """Whether the server has closed it, after whatever it had sent."""
    try:
        while line.recv(65_536):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True
