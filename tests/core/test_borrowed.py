"""experta is kept apart: what its age asks for reaches nothing else, and its old pins are known."""

import subprocess
import sys
from importlib.metadata import requires, version

APART = """
import collections, logging, sys
before = set(vars(collections)), list(logging.root.handlers), logging.root.level
from diagnose.core.borrowed import experta
module = experta()
assert (set(vars(collections)), logging.root.handlers, logging.root.level) == before, "left behind"
class Rules(module.KnowledgeEngine):
    @module.Rule(module.Fact(a="yes"))
    def fired(self):
        self.declare(module.Fact(b="yes"))
engine = Rules()
engine.reset()
engine.declare(module.Fact(a="yes"))
engine.run()
print(sum(fact.get("b") == "yes" for fact in engine.facts.values()))
"""


def test_it_leaves_nothing_behind_and_still_works() -> None:
    done = subprocess.run([sys.executable, "-c", APART], capture_output=True, text=True, check=False)
    assert (done.stdout.strip(), done.stderr) == ("1", "")


def test_its_pins_are_these_and_nothing_else_of_ours_wants_what_it_pins() -> None:
    """Fails when a release loosens them: then the shim, and what DEVELOPERS.md says of it, can be looked at again."""
    assert sorted(requires("experta") or ()) == ["frozendict (==1.2)", "schema (==0.6.7)"]
    assert (version("frozendict"), version("schema")) == ("1.2", "0.6.7")
    ours = [line for line in requires("gate-diagnose") or () if line.startswith(("frozendict", "schema"))]
    assert not ours
