"""The names of right answers. The first are the program's own for patterns in a log (knowledge, `trip_log`); the
others say what is planted where the program had no name for it yet when this was written."""

KNOWN = {
    "rain", "after_rain", "wind", "frost", "heat", "fog", "low_sun", "mirrored_sun", "dark", "while_moving",
    "time_of_day", "two_times", "period", "week", "change", "trend", "one_sensor", "traffic", "no_pattern",
}  # fmt: skip

NEW = {
    "after_closed": "trips in the first seconds after the gate reports closed",
    "chain": "a trip soon after closing opens the gate again, and so on",
    "every_nth_day": "trips every second, third ... day and not on the days between",
    "weekday_hour": "trips on one weekday at one hour",
    "shifts": "trips about the fixed hours at which a shift changes, on days of work",
    "clock_jump": "a fixed hour that jumps by one where the clock changes: it follows winter time",
    "follows_sun": "a start that moves with sunrise or sunset, from day to day",
    "road_lights": "in the dark only, and then in step with the traffic of a road",
    "dew": "after sunrise when the night was damp and still",
    "bursts": "many trips within seconds, at any time",
    "spacing": "trips in an exact distance in time and its multiples",
    "column": "when a reading that the log itself carries goes beyond a bound",
    "neighbour": "while another gate moves whose log is at hand",
    "after_power": "in the minutes after the power comes back",
    "constant_rate": "no pattern: as many by day and by night, and all the same over the weeks",
}
