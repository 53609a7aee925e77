"""Those who only wait, however many, shut nobody out. What is measured is in tests/bench/crowd.py."""

import socket
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.web import guard, punctual
from diagnose.web.lines import FORGOTTEN_EACH, NO_ADDRESS, Connections, group_of
from tests.web.crowd import SLOW, connected, is_cut, served, status


@pytest.fixture
def hostile() -> Iterator[list[socket.socket]]:
    lines: list[socket.socket] = []
    yield lines
    for line in lines:
        line.close()


@pytest.mark.parametrize("says", SLOW.values(), ids=SLOW)
@pytest.mark.parametrize("addresses", [1, 200])
def test_honest_requests_are_served_while_two_hundred_hold_lines(
    tmp_path: Path, hostile: list[socket.socket], says: bytes, addresses: int
) -> None:
    """No time limit comes to the rescue: all of them still wait, within their time, when the honest ones come."""
    with served(tmp_path, Connections(most=100, most_each=40)) as port:
        for number in range(200):
            hostile.append(connected(port, f"127.0.1.{number % addresses + 1}"))
            hostile[-1].sendall(says)
        assert [status(port, f"127.0.2.{number + 1}") for number in range(20)] == [200] * 20
        assert status(port, "127.0.1.1") == 200  # an honest one behind the address of a hostile one


def test_whoever_reconnects_at_once_shuts_nobody_out(tmp_path: Path, hostile: list[socket.socket]) -> None:
    with served(tmp_path, Connections(most=20, most_each=10)) as port:
        answered = []
        for number in range(200):
            hostile.append(connected(port, f"127.0.1.{number % 50 + 1}"))
            hostile[-1].sendall(b"GET / HT")
            if number % 10 == 9:
                answered.append(status(port, "127.0.2.1"))
        assert answered == [200] * 20


@pytest.mark.parametrize("says", [v for k, v in SLOW.items() if k != "idle after an answer"])
def test_each_part_of_a_request_has_its_time(
    tmp_path: Path, hostile: list[socket.socket], monkeypatch: pytest.MonkeyPatch, says: bytes
) -> None:
    monkeypatch.setattr(punctual, "HEAD_WITHIN_S", 0.2)
    monkeypatch.setattr(punctual, "LOOKS_S", 0.05)
    monkeypatch.setattr(guard, "FORM_WITHIN_S", 0.2)
    with served(tmp_path, Connections()) as port:
        hostile.append(connected(port, "127.0.1.1"))
        hostile[0].sendall(says)
        hostile[0].settimeout(30)
        assert is_cut(hostile[0])


def test_a_byte_now_and_then_buys_no_time(
    tmp_path: Path, hostile: list[socket.socket], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(punctual, "HEAD_WITHIN_S", 0.3)
    monkeypatch.setattr(punctual, "LOOKS_S", 0.05)
    with served(tmp_path, Connections()) as port:
        hostile.append(connected(port, "127.0.1.1"))
        end = time.monotonic() + 30
        with pytest.raises(OSError):
            while time.monotonic() < end:
                hostile[0].sendall(b"G")
                time.sleep(0.05)


def test_an_answer_that_nobody_takes_is_not_kept(
    tmp_path: Path, hostile: list[socket.socket], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(punctual, "TAKEN_WITHIN_S", 0.3)
    monkeypatch.setattr(punctual, "LOOKS_S", 0.05)
    lines = Connections()
    with served(tmp_path, lines) as port:
        line = socket.socket()
        line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        line.connect(("127.0.0.1", port))
        hostile.append(line)
        ask = b"GET /static/page.css HTTP/1.1\r\nHost: localhost\r\n\r\n"
        end = time.monotonic() + 30
        line.sendall(ask * 400)  # more than the system keeps for it
        while not len(lines) and time.monotonic() < end:
            time.sleep(0.02)
        while len(lines) and time.monotonic() < end:
            time.sleep(0.05)
        assert not len(lines)


class Waiting:
    """A talk that waits, or is busy."""

    def __init__(self, since: float, waits: bool = True) -> None:
        self.since, self.waits, self.dropped = since, waits, False

    def drop(self) -> None:
        self.dropped = True


def arrived(lines: Connections, address: str, port: int, talk: Waiting) -> bool:
    with socket.socket() as door:
        came = lines.arrived(door, (address, port))
    lines.spoken((address, port), talk)
    return came


def test_room_is_made_by_who_waits_longest_where_most_wait() -> None:
    lines = Connections(most=4, most_each=3)
    crowd = [Waiting(1.0), Waiting(5.0), Waiting(2.0)]
    other = Waiting(0.0)
    assert all(arrived(lines, "192.0.2.1", n, talk) for n, talk in enumerate(crowd))
    assert arrived(lines, "192.0.2.2", 1, other)
    assert arrived(lines, "192.0.2.3", 1, Waiting(9.0))
    assert [talk.dropped for talk in (*crowd, other)] == [True, False, False, False]


def test_who_is_being_answered_is_never_dropped_and_nobody_else_is_let_in_then() -> None:
    lines = Connections(most=2, most_each=2)
    busy = [Waiting(0.0, waits=False), Waiting(0.0, waits=False)]
    assert all(arrived(lines, "192.0.2.1", n, talk) for n, talk in enumerate(busy))
    assert not arrived(lines, "192.0.2.2", 1, Waiting(1.0))
    assert not any(talk.dropped for talk in busy)


def test_one_address_has_its_share_and_a_proxy_speaks_for_many() -> None:
    for many, dropped in (((), [True, False]), (("192.0.2.1",), [False, False])):
        lines, crowd = Connections(most=50, most_each=2, many=many), [Waiting(1.0), Waiting(2.0)]
        for number, talk in enumerate(crowd):
            arrived(lines, "192.0.2.1", number, talk)
        assert arrived(lines, "192.0.2.1", 9, Waiting(3.0))
        assert [talk.dropped for talk in crowd] == dropped


def test_what_went_unseen_is_forgotten() -> None:
    """A connection that ended while encryption was agreed on is told of by nobody."""
    lines = Connections()
    for number in range(FORGOTTEN_EACH):
        with socket.socket() as door:
            lines.arrived(door, ("192.0.2.1", number))
    assert len(lines) <= 1


@pytest.mark.parametrize(
    ("address", "group"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("no address", NO_ADDRESS),
    ],
)
def test_what_one_person_has_of_addresses(address: str, group: str) -> None:
    assert group_of(address) == group
