"""Text that tries to be more than text."""

MARKUP = "[red]x[/red] [/] [link=https://invalid.example]y[/link] [bold"
ESCAPES = "\x1b[31mred\x1b[0m \x1b]0;title\x07 \x1b]8;;https://invalid.example\x07y\x1b]8;;\x07 \x9b2J \x1bc \x1bP1$q"
CONTROLS = "".join(map(chr, [*range(32), *range(127, 160)]))
DIRECTIONS = "abc\u202edef\u202c \u2066x\u2069 \u200f\u061c\u200e\u202a\u202b\u202d"
INVISIBLE = "a\u200bb\u200cc\u200dd\ufeffe\u2060f\u00adg\u180eh\U000e0041i"
LINES = "one\ntwo\r\nthree\rfour\u2028five\u2029six\x0bseven\x0ceight\x85nine"
SMEAR = "a" + "\u0336\u0489\u20dd" * 300
EMOJI = "👩\u200d👩\u200d👧\u200d👦 🏳️\u200d🌈 🇪🇺 e\u0301 ﷽ 𓀀 \U0001f9d1\U0001f3ff"
SCRIPT = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'><svg/onload=alert(1)>&lt;b&gt; {{7*7}} {% raw %}"
XML = "<para>&amp;<font size=99>x</font><a href='file:///etc/passwd'>y</a> ]]> <!-- &unknown; &#0;"
FORMULAS = (
    "=cmd|'/c calc'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1",
    "%s%n{0}",
    "$(touch x)",
    "`touch x`",
    "'; DROP TABLE x; --",
)
PATHS = ("../../x", "/dev/null", "~root", "CON", "a\x00b", "%2e%2e%2f")
LONE = "\ud800x\udfff\udc80"
LONG = "long " * 700
ENDLESS = "x" * 4_000

TEXTS = (
    MARKUP, ESCAPES, CONTROLS, DIRECTIONS, INVISIBLE, LINES, SMEAR, EMOJI, SCRIPT, XML, *FORMULAS, *PATHS, LONE, LONG,
    ENDLESS,
)  # fmt: skip
