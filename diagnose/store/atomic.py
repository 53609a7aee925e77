"""Files that appear whole or not at all."""

import os
import tempfile
from pathlib import Path


def replace_file(path: Path, data: bytes) -> None:
    """The new content whole, or the old content. Raises OSError; the folder must exist."""
    handle, name = tempfile.mkstemp(dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
