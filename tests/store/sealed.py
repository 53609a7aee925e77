"""The seal of a line of a visit file, by its documented format and not by the program."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any


def seal(plain: Mapping[str, Any]) -> str:
    """DEVELOPERS.md: the first 12 hex digits of the SHA-256 of the rest, keys sorted, no spaces."""
    rest = json.dumps({k: v for k, v in plain.items() if k != "sum"}, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(rest.encode()).hexdigest()[:12]
