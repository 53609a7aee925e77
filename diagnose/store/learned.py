"""Learned frequencies that were switched on: one small file. Without it the expert's numbers count, unchanged."""

import json
import math
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from diagnose.core.learn import Learned
from diagnose.errors import VisitError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.atomic import replace_file
from diagnose.store.learned_place import learned_path
from diagnose.store.limited import limited_bytes
from diagnose.words import say

FORMAT = "gate-diagnose-learned-1"
MAX_BYTES = 8_000_000
_LEARNED = TypeAdapter(Learned)


class Overlay:
    """The file of switched-on frequencies in a folder, by default the user's data folder."""

    def __init__(self, folder: Path | None = None) -> None:
        self.path = learned_path(folder)

    def read(self) -> Learned | None:
        """What is switched on, None when nothing is. Raises VisitError when the file is damaged."""
        try:
            if not self.path.exists():
                return None
            return self._checked(
                limited_bytes(self.path, MAX_BYTES, say("store.learned_frequencies", advice=_advice()))
            )
        except OSError as error:
            raise VisitError(say("store.cannot_read", path=self.path, why=error.strerror)) from error

    def _checked(self, data: bytes) -> Learned:
        try:
            plain = json.loads(data)
            if not isinstance(plain, dict) or plain.pop("format", "") != FORMAT:
                raise ValueError(FORMAT)
            learned = _LEARNED.validate_python(plain)
            if not all(0.0 < weight < math.inf for weight in learned.weights.values()):
                raise ValueError(learned.weights)
        except (ValidationError, ValueError, RecursionError) as error:
            raise VisitError(say("store.learned_damaged", path=self.path, advice=_advice())) from error
        return learned

    def weights(self, kb: KnowledgeBase) -> Mapping[str, float] | None:
        """Weights to reason with, None when nothing is switched on.

        Raises VisitError when they were learned against other knowledge: a cause may mean something else by now.
        """
        learned = self.read()
        if learned is None:
            return None
        if learned.knowledge != kb.digest:
            raise VisitError(
                say(
                    "store.learned_elsewhere",
                    knowledge=learned.knowledge[:12],
                    digest=kb.digest[:12],
                    advice=_advice(),
                )
            )
        return learned.weights

    def switch_on(self, learned: Learned) -> None:
        """Use these from now on, in place of any before. Raises VisitError when the file cannot be written."""
        text = json.dumps({"format": FORMAT, **asdict(learned)}, indent=1, sort_keys=True)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            replace_file(self.path, text.encode())
        except OSError as error:
            raise VisitError(say("store.cannot_write", path=self.path, why=error.strerror)) from error

    def switch_off(self) -> bool:
        """Go back to the expert's numbers; False when nothing was switched on. Raises VisitError."""
        try:
            self.path.unlink()
        except FileNotFoundError:
            return False
        except OSError as error:
            raise VisitError(say("store.cannot_remove", path=self.path, why=error.strerror)) from error
        return True


def _advice() -> str:
    return say("store.learn_again")
