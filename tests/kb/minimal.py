"""A minimal knowledge base as text that passes the check; each test breaks one thing in it."""

import re

from diagnose.kb.check import problems_of
from diagnose.kb.load import load_entries
from diagnose.kb.text import Problem

FILES = {
    "shared.yaml": """\
sources:
  src: {cite: a test, kind: judgement}
cautions:
  moving: {says: keep clear, source: src}
  halt: {says: stop, stop_work: true, meanwhile: [everybody keeps away], source: src}
access:
  box: {says: open the box, minutes: 5, cautions: [moving], source: src}
  mains_compartment: {says: mains side, who: electrician, minutes: 5, cautions: [moving], source: src}
complaints:
  stuck: {says: it is stuck, meanwhile: [keep out of its way], caller_says: [it is stuck], source: src}
kinds: {loop: {says: inductive loop, traits: [buried], jargon: [loop feeder]}}
traits: {buried: lies in the road}
tools: {meter: multimeter}
proofs: {supply: {says: measure it again}}
links: {wiring: {says: wires}, outside: {says: not listed}}
families: {wiring: {link: wiring, says: wires}, outside: {link: outside, says: what is not listed}}
trip_log:
  {when: lamp, vague: [lit], compared: extra, no_pattern: first,
   outlasts_rain: {check: extra, stays: first, stops: first},
   patterns: {rain: {when: out, compared: first, causes: [other]}}}
scales:
  source: src
  strength: {probable: 0.85, certain: 0.995}
  frequency: {common: 5}
  complaint: {often: 4}
  complaint_floor: 0.08
settings:
  opening: [made_safe]
  made_safe_check: made_safe
  outside_cause: other
  designed_cause: other
  two_fault_odds: 0.1
  asking_minutes: 0.5
  least_bits_per_minute: 0.01
  slip: 0.02
  unsure_slip: 0.2
  caller_slip: 0.06
  temper: 1.0
  careless_slip: 0.2
  misfit_at: 0.85
  botched_repair: 0.05
  specialist_minutes: 240
  caller_before: moving
  caller_after: moving
  conclude_at: 0.9
  source: src
""",
    "entries.yaml": """\
causes:
  loose:
    says: a loose wire
    explain: it wobbles
    family: wiring
    devices: [loop]
    common: common
    complaints: {stuck: often}
    signs: {lamp: {out: probable}, volts: {low: 0.4}}
    test: pull it
    remedy: {steps: [tighten it], minutes: 10, access: box, tools: [meter], cautions: [moving], touches: [supply]}
    proof: it holds twice
    source: src
    caller: {steps: [Sweep the leaves away.], minutes: 3, proof: It stays shut.}
  other:
    says: something else
    explain: not listed here
    family: outside
    common: common
    complaints: {}
    signs: {lamp: {out: 0.2}}
    test: none
    remedy: {steps: [call the specialist], minutes: 10}
    proof: the specialist says so once
    source: src
checks:
  made_safe:
    ask: Is it safe?
    help: look
    good: safe
    bad: not safe
    kind: yes_no
    minutes: 1
    source: src
  lamp:
    ask: Is the lamp lit?
    ask_caller: Is the small light on?
    stand: beside the lane
    help: look
    good: lit
    bad: out
    kind: choice
    picture: lamp_place
    options: {lit: it is lit, dim: it glows, out: it is out}
    minutes: 1
    who: caller
    finding:
      states: [lit, dim, out]
      leak: {dim: 0.05, out: 0.05}
    source: src
  volts:
    ask: Volts?
    help: measure
    good: 24 volts
    bad: less
    kind: quantity
    unit: V
    plausible: [0, 40]
    hard: [0, 400]
    minutes: 2
    access: box
    tools: [meter]
    devices: [loop]
    needs: [made_safe, extra]
    only_if: {made_safe: yes}
    cautions: [moving]
    hazard: true
    finding:
      fact: volts_verdict
      states: {good: [inside, above], low: [below]}
      leak: {low: 0.02}
    source: src
  extra:
    ask: Which kind?
    help: look
    good: either
    bad: neither
    kind: choice
    options: {first: one, second: two}
    minutes: 1
    source: src
  wire:
    ask: Is the wire broken?
    help: look
    good: whole
    bad: broken
    kind: yes_no
    minutes: 1
    locked: true
    source: src
calculations:
  volts_verdict:
    says: volts against limits
    calculator: within
    inputs: {value: volts}
    constants: {low: 20, high: 30}
    source: src
rules:
  dark_means_low:
    says: no light, no volts
    when: {lamp: out, volts_verdict: [below]}
    then: {derive: {dead: yes}, unlock: [wire]}
    source: src
  dead_stops:
    says: stop
    when: {dead: yes, wire: yes}
    then: {stop_work: halt, caution: [moving], exclude: [other]}
    source: src
""",
    "pictures/lamp_place.svg": """\
<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 60" role="img">
<title>Where the lamp is</title>
<desc>At the top left of the housing.</desc>
<g fill="none" stroke="currentColor" stroke-width="2">
<circle cx="20" cy="20" r="8" fill="#d13b2e"/>
<path d="M4 40H60Q70 40 70.5 30z" transform="rotate(5 20 20)"/>
</g>
<text x="40" y="25" font-size="14" text-anchor="start">lamp<tspan font-weight="bold"> here</tspan></text>
</svg>
""",
}


def problems(files: dict[str, str]) -> list[Problem]:
    return problems_of(load_entries(files))


def changed(old: str, new: str) -> tuple[dict[str, str], str]:
    """The files with the one place that reads `old` reading `new`, and the name of the file it is in."""
    (name,) = (n for n, text in FILES.items() if text.count(old) == 1)
    return {**FILES, name: FILES[name].replace(old, new)}, name


def line_of(text: str, mark: str) -> int:
    """The one line that the pattern `mark` is found in, counted from 1."""
    (line,) = (i for i, content in enumerate(text.splitlines(), start=1) if re.search(mark, content))
    return line
