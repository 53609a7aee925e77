"""The words a gate writes, in several spellings, and the columns it writes them in. All of them are invented."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Lexicon:
    trip: str
    sensors: tuple[str, str]
    openers: tuple[tuple[str, str], ...]  # word, where it comes from
    moves: tuple[str, str, str, str]  # begins to open, is open, begins to close, is closed
    motor: str
    service: tuple[str, str]
    power: tuple[str, str]  # goes, comes back
    panel: str
    status: str


@dataclass(frozen=True)
class Layout:
    headings: tuple[tuple[str, str], ...]  # heading, what stands under it
    pattern: str
    digits: int = 0
    offset: str = ""  # "local": with its offset; "z": in UTC; else as the wall shows it
    dates: str = "ymd"
    delimiter: str = ","
    quoted: bool = False

    def heading(self, key: str) -> str | None:
        return next((h for h, k in self.headings if k == key), None)


LEXICONS = (
    Lexicon(
        "sensor_trip", ("laser_front", "laser_rear"),
        (("card_open", "reader"), ("remote_open", "radio"), ("exit_button", "panel")),
        ("gate_opening", "gate_open", "gate_closing", "gate_closed"), "motor",
        ("service_mode_on", "service_mode_off"), ("power_down", "power_up"), "controller", "status",
    ),
    Lexicon(
        "BEAM BROKEN", ("EYE 1", "EYE 2"),
        (("CARD READ OK", "READER"), ("EXIT LOOP", "LOOP"), ("PUSH BUTTON", "OFFICE")),
        ("OPENING", "OPEN", "CLOSING", "CLOSED"), "DRIVE",
        ("MAINTENANCE ON", "MAINTENANCE OFF"), ("MAINS LOST", "MAINS BACK"), "CONTROL", "ALIVE",
    ),
    Lexicon(
        "Detector active", ("Radar yard", "Radar street"),
        (("Remote control", "Receiver"), ("Keypad code accepted", "Keypad"), ("Button pressed", "Office")),
        ("Gate starts opening", "Gate fully open", "Gate starts closing", "Gate fully closed"), "Gate",
        ("Test mode on", "Test mode off"), ("Power failed", "Power restored"), "System", "Heartbeat",
    ),
    Lexicon(
        "obstacle", ("eye-a", "eye-b"),
        (("open-by-card", "rd1"), ("open-by-loop", "lp1"), ("open-by-remote", "rx1"), ("open-by-button", "bt1")),
        ("moving-up", "end-up", "moving-down", "end-down"), "arm",
        ("walk-test-begin", "walk-test-end"), ("supply-off", "supply-on"), "main", "sample",
    ),
    Lexicon(
        "safety sensor triggered", ("curtain in", "curtain out"),
        (("loop exit", "loop"), ("tag read", "reader"), ("intercom open", "intercom")),
        ("open command", "limit open", "close command", "limit closed"), "motor",
        ("service key in", "service key out"), ("power loss", "restart after power loss"), "board", "reading",
    ),
)  # fmt: skip

WHOLE = (
    Layout((("timestamp", "time"), ("event", "word"), ("source", "source"), ("duration_s", "seconds")),
           "%Y-%m-%dT%H:%M:%S", digits=1),
    Layout((("Time", "time"), ("Sensor", "source"), ("Message", "word"), ("Seconds", "seconds")),
           "%Y-%m-%d %H:%M:%S", digits=3, quoted=True),
    Layout((("when", "time"), ("what", "word"), ("where", "source")),
           "%Y-%m-%dT%H:%M:%S", offset="local", delimiter="\t"),
    Layout((("No", "number"), ("Stamp", "time"), ("Text", "word"), ("Unit", "source"), ("Length s", "seconds")),
           "%d.%m.%Y %H:%M:%S", dates="dmy", delimiter=";"),
    Layout((("utc", "time"), ("source", "source"), ("event", "word")),
           "%Y-%m-%dT%H:%M:%S", digits=1, offset="z"),
)  # fmt: skip
# one that does not say which device spoke
BARE = Layout((("Time", "time"), ("Event", "word")), "%m/%d/%Y %H:%M:%S", dates="mdy")
