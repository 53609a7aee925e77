"""A reasoner for tests that walk the same visits over and over."""

import threading
from collections import OrderedDict
from collections.abc import Sequence

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.stage import Derive
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Setup

MOST = 60  # conclusions kept; the belief of each takes a few megabytes


class Remembering(Reasoner):
    """Concludes once from the same set-up and answers: the product's reasoner is a pure function of them."""

    def __init__(self, kb: KnowledgeBase, derive: Derive | None = None) -> None:
        super().__init__(kb, derive)
        self._kept = OrderedDict[str, Conclusion]()
        self._lock = threading.Lock()

    def conclude(
        self,
        setup: Setup,
        complaint: str,
        answers: Sequence[Answer],
        *,
        insist: bool = False,
        attempts: Sequence[Attempt] = (),
        carried: Sequence[Answer] = (),
    ) -> Conclusion:
        asked = repr((setup, complaint, [*answers], insist, [*attempts], [*carried]))
        with self._lock:
            known = self._kept.get(asked)
        found = known or super().conclude(
            setup, complaint, answers, insist=insist, attempts=attempts, carried=carried
        )
        with self._lock:
            self._kept[asked] = found
            self._kept.move_to_end(asked)
            while len(self._kept) > MOST:
                self._kept.popitem(last=False)
        return found
