"""What people say, as frozen records: the phrases that stand for an answer, and the small words around them.

The YAML schema too, as `diagnose.model.knowledge` is.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.named import Words

COMPLAINT = "complaint"
DANGER = "danger"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hearing:
    """Phrases by what they say of a check, the complaint or a danger; `id` names which (see `hear.phrases`).

    `lists`: words by name, for which `$name` stands in a phrase. A phrase says nothing close to a word that belongs
    `elsewhere` ('smoke comes from the bakery'), nor in a clause with one of the `settled` ('years ago').
    With `mere` words given, a clause that begins with 'if' counts, unless one of them stands in it ('if it would').
    `amid`: one of these words must stand somewhere in the whole text, and none of those it is `never_amid`.
    """

    id: str
    options: Mapping[str, Words]
    lists: Mapping[str, Words] = field(default_factory=dict)
    elsewhere: Words = ()
    settled: Words = ()
    mere: Words = ()
    amid: Words = ()
    never_amid: Words = ()
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """Small words of the language.

    `dropped` carry no meaning here; a `turn` begins a new clause; what follows a word that `denies` is not so, up to
    one of the `circumstances` ('does not close when it rains': it rains); `doubts` make a clause a guess; a clause
    that begins with what `supposes` says nothing; one with what is `unreal` (a theory, a plan, what somebody asks)
    tells no fact. `lists`: words by name for the phrases of every hearing, which may name other lists; `ways`: turns
    of phrase by name, for which `@name` stands in a phrase.
    """

    dropped: Words = ()
    turns: Words = ()
    denies: Words = ()
    circumstances: Words = ()
    doubts: Words = ()
    supposes: Words = ()
    unreal: Words = ()
    lists: Mapping[str, Words] = field(default_factory=dict)
    ways: Mapping[str, Words] = field(default_factory=dict)
    source: str = ""
