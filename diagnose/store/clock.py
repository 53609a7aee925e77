"""A clock that nobody sets: how long the machine has been on, and a mark of since when."""

import hashlib
import time
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any


def since_start() -> Mapping[str, Any]:
    """`boot`, the same until the machine is started again, and `on`, seconds since then, asleep or not.

    Empty where the machine does not tell.
    """
    boot = _boot()
    return {"boot": boot, "on": int(time.clock_gettime(time.CLOCK_BOOTTIME))} if boot else {}


@cache
def _boot() -> str:
    with suppress(OSError, AttributeError):
        time.clock_gettime(time.CLOCK_BOOTTIME)
        told = Path("/proc/sys/kernel/random/boot_id").read_bytes()
        return hashlib.sha256(told).hexdigest()[:8]
    return ""
