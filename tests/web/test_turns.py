"""Many pages for one address at once do not keep another one waiting."""

import asyncio
from concurrent.futures import ThreadPoolExecutor

from diagnose.web.turns import Turns


def test_one_address_waits_for_itself_and_another_does_not() -> None:
    async def played() -> tuple[int, bool]:
        turns, release, working = Turns(at_once=2), asyncio.Event(), 0

        async def page() -> None:
            nonlocal working
            async with turns.of("192.0.2.1"):
                working += 1
                await release.wait()

        crowd = [asyncio.create_task(page()) for _ in range(10)]
        await asyncio.sleep(0.01)
        async with asyncio.timeout(1), turns.of("192.0.2.2"):
            seen = working
        release.set()
        await asyncio.gather(*crowd)
        return seen, not turns._at

    with ThreadPoolExecutor(1) as apart:  # a test of the browser leaves its own loop in this thread
        assert apart.submit(asyncio.run, played()).result() == (2, True)
