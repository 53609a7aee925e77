"""The sentences beside the words: what was assumed is said, what has no meaning is left out."""

from diagnose.calc import verdicts


def test_an_assumed_release_is_said() -> None:
    assumed = verdicts.test_timing(pulse_ms=90, response_ms=80)
    known = verdicts.test_timing(pulse_ms=90, response_ms=80, release_ms=5)
    assert (assumed.word, known.word) == ("pulse_too_short", "good")  # by hand: 80 + 20 against 80 + 5
    assert "release not known, 20 ms assumed" in assumed.says
    assert "assumed" not in known.says


def test_no_cable_is_spoken_of_at_the_source() -> None:
    at_source = verdicts.supply_at_device(measured=23.0, source=24.0, length=0)
    assert at_source.word == "good" and "24.0 V wanted" in at_source.says
    assert " over " not in at_source.says and "mm2" not in at_source.says


def test_the_cable_s_drop_is_worked_out_when_length_size_and_load_are_known() -> None:
    """By hand: 60 m there and back of 0.5 mm2 copper is 4.14 ohm; 0.25 A through it costs 1.03 V."""
    known = verdicts.supply_at_device(measured=22.9, source=24.0, length=60, area=0.5, load_a=0.25)
    assert "over 60 m of 0.5 mm2 should leave 23.0 V" in known.says
    assert "unknown run" in verdicts.supply_at_device(measured=22.9, source=24.0, length=60).says
