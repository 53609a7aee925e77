"""Invented knowledge of any size with the sparsity of the shipped one: a check and a rule per cause.

Every cause, check and rule is a copy of a shipped one with its own name. There are as many copies of the signal chain
as the causes are times the shipped ones: a cause brings in one of them what its model brings, and an effect shows
every check of its own chain as it shows the check's model. Of its own account a check is shown by as many causes as
its model is, each as strongly as some cause shows the model, but which ones is drawn anew. Every check is scored and
open from the start, which is harder than the shipped knowledge. Only the numbers mean anything.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from diagnose.kb.domain import answers_of
from diagnose.model.heard import COMPLAINT, DANGER
from diagnose.model.knowledge import Cause, Check, Effect, Finding, KnowledgeBase, Strength
from diagnose.model.rules import Rule, Then

PER_CAUSE = 1.0
ENTRIES = 500
Shown = Mapping[str, Strength]


def synthetic(shipped: KnowledgeBase, causes: int, seed: int = 1) -> KnowledgeBase:
    """Knowledge with so many causes; the same seed gives the same knowledge."""
    rng = np.random.default_rng(seed)
    scored = [c for c in shipped.checks.values() if c.finding and c.finding.fact == c.id]
    bearing = {m.id: [c.signs[m.id] for c in shipped.causes.values() if m.id in c.signs] for m in scored}
    models = [m for m in scored if bearing[m.id] or any(m.id in e.shows for e in shipped.effects.values())]
    drawn = rng.integers(len(models), size=round(PER_CAUSE * causes))
    checks = {f"check_{i}": models[m] for i, m in enumerate(drawn)}
    signs = _signs(causes, {name: bearing[m.id] for name, m in checks.items()}, rng)
    copies = {name: _check(name, model) for name, model in checks.items()}
    log = shipped.trip_log
    asked = (shipped.settings.made_safe_check, log.when, log.compared, log.outlasts_rain.check)
    for name in asked:
        copies[name] = replace(shipped.checks[name], only_if={}, needs=(), picture="", finding=None)
    originals = list(shipped.causes.values())
    chains = max(1, round(causes / len(originals)))
    return replace(
        shipped,
        digest=f"synthetic {causes} {seed}",
        dangers={},  # they and duties are told by the words of a text, and texts are drawn together here
        duties={},
        effects=_effects(shipped, [{n: m.id for n, m in list(checks.items())[k::chains]} for k in range(chains)]),
        causes={
            f"cause_{i}": _cause(i, originals[rng.integers(len(originals))], signs[i], i % chains)
            for i in range(causes)
        },
        checks=copies,
        heard={name: shipped.heard[name] for name in (COMPLAINT, DANGER)},
        findings={name: c.finding for name, c in copies.items() if c.finding},
        rules=_rules(list(shipped.rules.values()), [copies[name] for name in (*checks, asked[0])], rng),
        calculations={},
        pictures={},
        walk={},
        examples={},
        settings=replace(
            shipped.settings, opening=asked, first_cut="", outside_cause="cause_0", designed_cause="cause_1"
        ),
        trip_log=replace(log, patterns={name: replace(p, causes=()) for name, p in log.patterns.items()}),
    )


def _signs(causes: int, bearing: Mapping[str, Sequence[Shown]], rng: np.random.Generator) -> list[dict[str, Shown]]:
    """Per cause what it shows, finding by finding; at least one."""
    signs: list[dict[str, Shown]] = [{} for _ in range(causes)]
    for name, shown in bearing.items():
        for i in rng.choice(causes, size=min(len(shown), causes), replace=False):
            signs[i][name] = shown[int(rng.integers(len(shown)))]
    told = [name for name, shown in bearing.items() if shown]
    for own in signs:
        name = told[rng.integers(len(told))]
        own.setdefault(name, bearing[name][int(rng.integers(len(bearing[name])))])
    return signs


def _cause(number: int, model: Cause, signs: Mapping[str, Shown], chain: int) -> Cause:
    return replace(
        model,
        id=f"cause_{number}",
        says=f"cause {number}",
        signs=signs,
        brings=_brings(model.brings, chain),
        one_of={name: replace(way, brings=_brings(way.brings, chain)) for name, way in model.one_of.items()},
        inseparable_from={},
    )


def _effects(shipped: KnowledgeBase, chains: Sequence[Mapping[str, str]]) -> dict[str, Effect]:
    """The effects of every chain; each is given as its checks with their models."""
    copies = (_effect(e, k, checks) for k, checks in enumerate(chains) for e in shipped.effects.values())
    return {e.id: e for e in copies}


def _effect(model: Effect, chain: int, checks: Mapping[str, str]) -> Effect:
    calculated = model.calculated
    if calculated:
        calculated = replace(calculated, gives={w: _brings(b, chain) for w, b in calculated.gives.items()})
    return replace(
        model,
        id=f"{model.id}_{chain}",
        shows={name: model.shows[m] for name, m in checks.items() if m in model.shows},
        brings=_brings(model.brings, chain),
        at_rest=f"{model.at_rest}_{chain}" if model.at_rest else "",
        calculated=calculated,
    )


def _brings(model: Shown, chain: int) -> Shown:
    return {f"{effect}_{chain}": strength for effect, strength in model.items()}


def _check(name: str, model: Check) -> Check:
    assert model.finding
    finding = replace(model.finding, id=name, check=name, fact=name)
    plain: dict[str, Any] = {"only_if": {}, "locked": False, "needs": (), "fills": "", "picture": "", "devices": ()}
    return replace(model, id=name, finding=finding, **plain)


def _rules(models: Sequence[Rule], checks: Sequence[Check], rng: np.random.Generator) -> dict[str, Rule]:
    """As many conditions as the model has, on answers drawn at random; each derives a fact of its own."""
    rules = {}
    for i, m in enumerate(rng.integers(len(models), size=len(checks) - 1)):
        asked = rng.choice(len(checks), size=len(models[m].when), replace=False)
        when = {checks[c].id: (str(rng.choice(sorted(answers_of(checks[c])))),) for c in asked}
        rules[f"rule_{i}"] = replace(models[m], id=f"rule_{i}", when=when, then=Then(derive={f"fact_{i}": "yes"}))
    return rules


def write(kb: KnowledgeBase, folder: Path) -> None:
    """The knowledge as a folder of YAML files, none with more than `ENTRIES` entries."""
    folder.mkdir(parents=True, exist_ok=True)
    for section in fields(kb):
        if section.name not in (
            "digest",
            "findings",
            "pictures",
            "subjects",
            "gear",
            "base",
            "own",
        ):  # no layout, no gate
            items = list(_plain(getattr(kb, section.name)).items())
            for start in range(0, len(items), ENTRIES):
                body = {section.name: dict(items[start : start + ENTRIES])}
                text = yaml.dump(body, Dumper=yaml.CSafeDumper, sort_keys=False)
                (folder / f"{section.name}_{start}.yaml").write_text(text, "utf-8")


def _plain(value: Any) -> Any:
    """Records as mappings of what differs from the defaults; an entry's id is its key, a finding's check too."""
    if is_dataclass(value):
        given = {f.name: getattr(value, f.name) for f in fields(value) if not _default(f, getattr(value, f.name))}
        told = ("id", "check", "fact") if isinstance(value, Finding) else ("id",)
        return {name: _plain(v) for name, v in given.items() if name not in told}
    if isinstance(value, Mapping):
        return {k: _plain(v) for k, v in value.items() if v is not None}
    return [_plain(v) for v in value] if isinstance(value, tuple) else value


def _default(field: Any, value: Any) -> bool:
    made = field.default_factory() if field.default_factory is not MISSING else field.default
    return bool(value == made)
