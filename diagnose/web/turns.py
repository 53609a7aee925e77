"""Turns of work: pages that one address asks for at once wait for each other, and not everybody else for them."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

AT_ONCE = 4  # for one address; pages are worked on one by one anyway


Key = tuple[asyncio.AbstractEventLoop, str]


class Turns:
    """Each event loop has its own."""

    def __init__(self, at_once: int = AT_ONCE) -> None:
        self._at_once = at_once
        self._at: dict[Key, tuple[asyncio.Semaphore, int]] = {}

    @asynccontextmanager
    async def of(self, group: str) -> AsyncIterator[None]:
        """Held while a page is worked on; kept only as long as somebody has or wants one."""
        key = asyncio.get_running_loop(), group
        turn, wanted = self._at.get(key) or (asyncio.Semaphore(self._at_once), 0)
        self._at[key] = turn, wanted + 1
        try:
            async with turn:
                yield
        finally:
            turn, wanted = self._at.pop(key)
            if wanted > 1:
                self._at[key] = turn, wanted - 1
