"""The pages of `diagnose serve` as a front end to be killed: forms sent over HTTP, without a browser."""

import os
import re
import select
import signal
import subprocess
import sys
from html.parser import HTMLParser
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from urllib.parse import urlencode

from tests.faults.kills import COMPLAINT, PATIENCE_S

Fields = dict[str, str]


class Hidden(HTMLParser):
    """The hidden fields of each form of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[Fields] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.forms.append({"action": given.get("action", "")})
        elif tag == "input" and given.get("type") == "hidden" and self.forms:
            self.forms[-1][given.get("name", "")] = given.get("value", "")


class Paged:
    """One visit on the pages; the server is what is killed."""

    writes_on_opening = False

    def __init__(self) -> None:
        self.output = ""

    def start(self, folder: Path, resume: bool) -> None:
        self.output, self._folder, self._waiting, self._page = "", folder, False, ""
        self._address, self._cookie = "", ""
        self._first = "/visit/" + max(p.stem for p in folder.glob("*.visit")) if resume else "/start"
        self._server = subprocess.Popen(serving(folder), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)

    def send(self, line: str) -> None:
        forms = Hidden(self._page).forms
        if line == COMPLAINT:
            form = next(f for f in forms if f["action"] == "/start")
            form |= {"do": "begin", "complaint": line, "role": "technician", "sensor": "laser", "site": "north gate"}
        elif line == "back":
            form = next(f for f in forms if f.get("do") == "back")
        else:
            form = {**next(f for f in forms if f.get("do") == "reply" and "check" in f), "answer": line}
        self._ask("POST", form.pop("action"), form)

    def acknowledged(self) -> bool:
        if not self._address:
            self._serve()
            self._ask("GET", self._first, {})
        while self._waiting:
            answer = self._connection.getresponse()
            self._take(answer)
            if answer.status == 303:
                self._ask("GET", answer.headers["Location"], {})
            elif singly := re.search(r'href="([^"]+\?singly=1)"', self._page):
                self._ask("GET", singly[1], {})
        return True

    def _serve(self) -> None:
        while not (found := re.search(r"http://([^/]+)/", self.output)):
            assert self._read(PATIENCE_S), f"it ended:\n{self.output}"
        self._address = found.group(1)

    def _ask(self, method: str, path: str, form: Fields) -> None:
        self._connection = HTTPConnection(self._address, timeout=PATIENCE_S)
        headers = {"Cookie": self._cookie, "Content-Type": "application/x-www-form-urlencoded"}
        headers |= {"Origin": f"http://{self._address}"}
        self._connection.request(method, path, urlencode(form) if form else None, headers)
        self._waiting = True

    def _take(self, answer: HTTPResponse) -> None:
        self._page, self._waiting = answer.read().decode(), False
        self._cookie = answer.headers.get("Set-Cookie", self._cookie).partition(";")[0]
        assert answer.status in (200, 303), (answer.status, self._page[-2000:])
        self._connection.close()

    def _read(self, seconds: float) -> bool:
        assert self._server.stdout
        ready, _, _ = select.select([self._server.stdout], [], [], seconds)
        part = os.read(self._server.stdout.fileno(), 1 << 16) if ready else b""
        self.output += part.decode(errors="replace")
        return bool(part)

    def kill(self) -> None:
        self._server.send_signal(signal.SIGKILL)
        self._server.wait()
        while self._read(0):
            pass
        assert self._server.stdout
        self._server.stdout.close()
        if self._waiting:
            self._connection.close()


def serving(folder: Path) -> list[str]:
    return [sys.executable, "-m", "diagnose", "serve", "--port", "0", "--visits", str(folder)]
