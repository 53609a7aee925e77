"""Connections that say nothing are closed: else the few that are allowed at once would be used up by lost phones."""

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

REQUEST_WITHIN_S = 20.0


class Punctual(H11Protocol):
    """HTTP/1.1 that lets no connection be without a whole request for long; uvicorn alone waits for ever."""

    _timer: asyncio.TimerHandle
    _before: RequestResponseCycle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._timer = self.loop.call_later(REQUEST_WITHIN_S, self._look)

    def connection_lost(self, exc: Exception | None) -> None:
        self._timer.cancel()
        super().connection_lost(exc)

    def _look(self) -> None:
        """No request is being answered, and none came since the last look: whoever is there says nothing."""
        idle = self.cycle is None or self.cycle.response_complete
        if idle and self.cycle is self._before:
            self.transport.close()
            return
        self._before = self.cycle
        self._timer = self.loop.call_later(REQUEST_WITHIN_S, self._look)
