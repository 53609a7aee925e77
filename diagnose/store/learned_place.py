"""Where switched-on frequencies lie; apart from `learned`, so that a start without them stays quick."""

from pathlib import Path

from platformdirs import user_data_path


def learned_path(folder: Path | None = None) -> Path:
    """The file in a folder, by default the user's data folder."""
    return (folder or user_data_path("gate-diagnose")) / "learned.json"


def switched_on() -> bool:
    return learned_path().exists()
