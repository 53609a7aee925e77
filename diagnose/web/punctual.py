"""HTTP whose clients must keep up: a head, a body and an answer each have their time, else the connection is cut.

What uvicorn itself has, it does: an idle connection after an answer (timeout_keep_alive), heads that are too long.
"""

import asyncio
import time
from functools import partial
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

from diagnose.web.lines import Connections

HEAD_WITHIN_S = 10.0  # of the connection, or of the answer before
TAKEN_WITHIN_S = 30.0  # without a byte of the answer taken
LOOKS_S = 2.0


class Punctual(H11Protocol):
    """HTTP/1.1 that waits for nobody for ever; uvicorn alone would."""

    def __init__(self, *given: Any, lines: Connections | None = None, **more: Any) -> None:
        super().__init__(*given, **more)
        self._lines = lines or Connections()
        self.since = self._moved = time.monotonic()
        self._untaken = 0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._lines.spoken(self.client, self)
        self._timer = self.loop.call_later(LOOKS_S, self._look)

    def connection_lost(self, exc: Exception | None) -> None:
        self._timer.cancel()
        self._lines.gone(self.client, self)
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        self.since = time.monotonic()
        super().on_response_complete()

    @property
    def waits(self) -> bool:
        """Nothing is asked, what is asked has not come whole, or the answer is not taken."""
        return self._idle or self.cycle.more_body or self.flow.write_paused

    @property
    def _idle(self) -> bool:
        return self.cycle is None or self.cycle.response_complete

    def drop(self) -> None:
        """At once, also what was still to be sent: whoever takes nothing would keep it for ever."""
        self.transport.abort()

    def _look(self) -> None:
        """Bodies are the guard's: it knows how much may come."""
        now, untaken = time.monotonic(), self.transport.get_write_buffer_size()
        if untaken != self._untaken or not untaken:
            self._untaken, self._moved = untaken, now
        late = self._idle and not untaken and now - self.since > HEAD_WITHIN_S
        if late or now - self._moved > TAKEN_WITHIN_S:
            self.drop()
            return
        self._timer = self.loop.call_later(LOOKS_S, self._look)


def punctual(lines: Connections) -> Any:
    """The protocol for the connections that `lines` counts, as uvicorn wants it."""
    return partial(Punctual, lines=lines)
