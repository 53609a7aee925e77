"""Device and site profiles: the shipped ones load, every problem of a bad one is reported with its line."""

from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.kb.files import PROFILE_FOLDER, shipped_folder
from diagnose.store.profiles import load_profile, profile_facts

HEAD = "profile: {id: x, says: a thing, kind: site}\n"


def profile(tmp_path: Path, text: str) -> str:
    path = tmp_path / "own.yaml"
    path.write_text(text, "utf-8")
    return str(path)


@pytest.mark.parametrize("path", sorted((shipped_folder("knowledge") / PROFILE_FOLDER).glob("*.yaml")), ids=str)
def test_shipped_profiles_load_by_id_and_by_file_and_say_they_are_invented(path: Path) -> None:
    found = load_profile(path.stem)
    assert found == load_profile(str(path))
    assert found.id == path.stem
    assert found.invented
    assert found.facts


def test_an_own_file_wins_over_a_shipped_id_and_numbers_are_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "demo_site").write_text(HEAD + 'facts: {site.supply_v: 12, site.neighbour_scanner: "no"}', "utf-8")
    monkeypatch.chdir(tmp_path)
    found = load_profile("demo_site")
    assert found.facts == {"site.supply_v": 12.0, "site.neighbour_scanner": "no"}
    assert isinstance(found.facts["site.supply_v"], float)


def test_several_profiles_become_one_table_of_facts_with_the_lamps(tmp_path: Path) -> None:
    own = profile(tmp_path, HEAD + "facts: {site.supply_v: 12}\nlamps: {power: a steady glow at the top}\n")
    facts = profile_facts(["demo_device", "demo_site", own])
    assert facts["site.supply_v"] == 12.0
    assert facts["device.planes"] == 3.0
    assert facts["lamp.power"] == "a steady glow at the top"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "own.yaml:1:1: a profile needs"),
        ("[1, 2]", "own.yaml:1:1: a profile needs"),
        ("profile: 3\nfacts: {}", "a profile needs"),
        ("profile: {id: 1, says: b, kind: site}", "own.yaml:1:11: 'id' is missing or not a text"),
        ("profile: {id: a, kind: site}", "'says' is missing"),
        ("profile: {id: a, says: b, kind: device, sensor: 3}", "own.yaml:1:41: sensor must be a kind of sensor"),
        ("profile: {id: a, says: b, kind: house}", "kind must be device or site"),
        (HEAD + "facts: 3", "own.yaml:2:1: 'facts' must hold"),
        (HEAD + "facts:", "own.yaml:2:1: 'facts' must hold"),
        (HEAD + "lamps: 3", "own.yaml:2:1: 'lamps' must hold"),
        (HEAD + "lamps:\n  power: 3", "own.yaml:3:3: 'lamp.power' must be a text"),
        (HEAD + "fact: {}", "own.yaml:2:1: unknown section 'fact'"),
        (HEAD + "facts: {site.suply_v: 24}", "own.yaml:2:9: unknown fact 'site.suply_v'; known: device."),
        (HEAD + "facts: {site.supply_v: high}", "'site.supply_v' must be a number in V"),
        (HEAD + "facts: {site.supply_v: 1e999}", "'site.supply_v' must be a number in V"),
        (HEAD + "facts: {site.supply_v: true}", "'site.supply_v' must be a number in V"),
        (HEAD + "facts: {site.gate_type: revolving}", "must be one of barrier_arm, sliding, swing"),
        (HEAD + "facts: {site.gate_type: [swing]}", "must be one of barrier_arm, sliding, swing"),
        (HEAD + "facts: [", "own.yaml:3:1: not YAML"),
        (HEAD + "facts: &a {x: *a}", "alias"),
        ("a: 1\n---\nb: 2", "second document"),
        ("\t", "own.yaml"),
        ("\x00", "own.yaml"),
    ],
)
def test_a_malformed_profile_is_refused_with_its_line(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(VisitError) as error:
        load_profile(profile(tmp_path, text))
    assert says in str(error.value)


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    text = "profile: {id: a, says: b, kind: house}\nfacts: {nope: 1, site.supply_v: x}\nlamps: {power: 1}\nmore: 1\n"
    with pytest.raises(VisitError) as error:
        load_profile(profile(tmp_path, text))
    assert str(error.value).count("own.yaml:") == 5


@pytest.mark.parametrize("name", ["nowhere.yaml", "a" * 5000, "\x00", "."])
def test_a_profile_that_is_not_there_is_refused(name: str) -> None:
    with pytest.raises(VisitError, match="cannot read the profile"):
        load_profile(name)


def test_a_missing_profile_names_the_shipped_ones(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match="shipped: demo_device, demo_site"):
        load_profile(str(tmp_path / "nowhere"))


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    (tmp_path / "own.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(VisitError, match="no UTF-8 text; save the file as UTF-8"):
        load_profile(str(tmp_path / "own.yaml"))


def test_a_profile_of_the_former_version_with_facts_nothing_asks_for_any_more_opens(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(HEAD + "facts: {device.range_m: 12, site.gate_speed: 0.2}", "utf-8")
    assert load_profile(str(path)).facts == {"device.range_m": 12, "site.gate_speed": 0.2}
    path.write_text(HEAD + "facts: {device.range_m: far}", "utf-8")
    with pytest.raises(VisitError, match=r"unknown fact 'device\.range_m'"):
        load_profile(str(path))
