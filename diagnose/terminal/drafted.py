"""A reader that keeps what was typed, and types again what was kept."""

from collections.abc import Sequence

from diagnose.store.drafts import Draft
from diagnose.terminal.reader import Check, Reader
from diagnose.terminal.screen import Screen, clean


class DraftedReader:
    """First the lines of the draft, shown as they were typed; then the person's, each kept before it counts."""

    def __init__(self, reader: Reader, draft: Draft, screen: Screen) -> None:
        self._reader, self._draft, self._screen = reader, draft, screen
        self._before = list(draft.before)

    def read(self, prompt: str, words: Sequence[str] = (), check: Check = None, topic: str = "") -> str:
        if self._before:
            typed = self._before.pop(0)
            self._screen.line(f"{prompt}{clean(typed)}")
            return typed
        typed = self._reader.read(prompt, words, check, topic)
        self._draft.add(typed)
        return typed
