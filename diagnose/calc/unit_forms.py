"""The forms in which a reading is typed, as patterns."""

import re

EXPONENT = r"(?>[eE][+-]?[0-9]+)?+"
PLAIN = rf"(?>[0-9]+\s+[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+){EXPONENT}"
NUMBER = rf"[+-]?\s?{PLAIN}"
UNIT = r"(?:(?:sq\s?)?[cmCM][mM]\^?2|[A-Za-zΩ°%'\"/²\s.]*?)"
SINGLE = re.compile(rf"({NUMBER})\s*({UNIT})")
TO = r"(?:-|\bto\b|(?<=[0-9])to|\.{2,3}|…)"
RANGE = re.compile(rf"({NUMBER})\s*({UNIT})\s*{TO}\s*({NUMBER})\s*({UNIT})")
BETWEEN = re.compile(rf"between\s+({NUMBER})\s*({UNIT})\s+and\s+({NUMBER})\s*({UNIT})", re.I)
PAIR = re.compile(rf"({NUMBER})\s*({UNIT})\s*(?:\band\b|&)\s*({NUMBER})\s*({UNIT})", re.I)
TOLERANCE = re.compile(rf"({NUMBER})\s*({UNIT})\s*(?:±|\+/-|\+-)\s*({PLAIN})\s*({UNIT})")
COMPOUND = re.compile(rf"({PLAIN})\s*({UNIT})\s*(-?)\s*({PLAIN})\s*({UNIT})")
RESISTOR_CODE = re.compile(r"([0-9]+)([RrKkM])([0-9]+)\s*(?:Ω|ohms?)?", re.I)
GAUGE = re.compile(r"(?:([0-9]+)\s*(?:awg|gauge|ga)|awg\s*([0-9]+))", re.I)
CLOCK = re.compile(r"(?=.*[:ap])([0-9]{1,2})(?::([0-5][0-9]))?\s*(?:([ap])\.?\s?m\.?)?", re.I)
OVER_RANGE = re.compile(r"(?:o\.?l\.?|0l|overload|over\s?(?:range|limit)|infinit[ey]|infinity|inf|∞)", re.I)
OPEN = re.compile(r"open(?:[\s-]?(?:circuit|line|loop))?", re.I)
ABOUT = re.compile(r"(?:~|(?:about|around|roughly|approximately|approx\.?|circa|ca\.?)\s)\s*", re.I)
AT_LEAST = re.compile(r"(?:>=?|(?:(?:more|greater|longer|higher|larger) than|over|above|at least)\s)\s*", re.I)
AT_MOST = re.compile(
    r"(?:<=?|(?:(?:no more|not more|less|shorter|lower|smaller) than|under|below|at most|up to)\s)\s*", re.I
)
GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
WRITTEN = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")
