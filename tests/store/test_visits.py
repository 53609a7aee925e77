"""Finding and listing visits."""

from datetime import datetime
from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.model.visit import Setup
from diagnose.session.events import Begin, Conclude, Event, Proved, Repaired, Reply
from diagnose.store.journal import Journal
from diagnose.store.visits import at_site, find, listing, require_writable, visits_folder

BEGIN = Begin(Setup(), "ghost_opening", site="north gate")


def kept(folder: Path, when: datetime, *events: Event) -> str:
    with Journal.create(folder, when) as journal:
        for event in events:
            journal.append(event)
    return journal.path.stem


def test_the_last_is_the_one_begun_last_also_within_a_second(tmp_path: Path) -> None:
    kept(tmp_path, datetime(2026, 1, 2), BEGIN)
    second = [kept(tmp_path, datetime(2026, 3, 4, 5, 6, 7), BEGIN) for _ in range(12)]
    assert find(tmp_path, "last").stem == second[-1] == "20260304-050607-11"
    assert [v.name for v in listing(tmp_path)] == [*reversed(second), "20260102-000000"]


def test_a_visit_is_found_by_its_name_the_start_of_it_or_its_file(tmp_path: Path) -> None:
    name = kept(tmp_path, datetime(2026, 1, 2), BEGIN)
    other = kept(tmp_path, datetime(2026, 1, 2), BEGIN)
    kept(tmp_path, datetime(2025, 1, 2), BEGIN)
    assert find(tmp_path, name).stem == name
    assert find(tmp_path, other).stem == other
    assert find(tmp_path, "2025").stem == "20250102-000000"
    assert find(tmp_path / "elsewhere", str(tmp_path / f"{name}.visit")).stem == name


@pytest.mark.parametrize(("name", "says"), [("2026", "2 visits start with '2026'"), ("1999", "no visit '1999'")])
def test_no_visit_or_several_are_refused(tmp_path: Path, name: str, says: str) -> None:
    for _ in range(2):
        kept(tmp_path, datetime(2026, 1, 2), BEGIN)
    with pytest.raises(VisitError, match=f"{says}.*'diagnose list'"):
        find(tmp_path, name)


def test_an_empty_folder_points_to_a_start(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match=r"no visits yet in .*'diagnose' starts one"):
        find(tmp_path / "none", "last")
    assert list(listing(tmp_path / "none")) == []


def test_the_list_tells_what_is_in_each_file_and_what_is_wrong_with_it(tmp_path: Path) -> None:
    kept(tmp_path, datetime(2026, 1, 1), BEGIN, Reply("power_lamp", "steady"), Conclude())
    kept(tmp_path, datetime(2026, 1, 2), BEGIN, Reply("power_lamp", "steady"))
    (tmp_path / "20260103-000000.visit").write_bytes(b"rubbish\n")
    (tmp_path / "20260104-000000.visit").mkdir()
    found = {v.name[:8]: v for v in listing(tmp_path)}
    concluded, open_one, rubbish, folder = (found[f"2026010{day}"] for day in (1, 2, 3, 4))
    assert (concluded.complaint, concluded.site, concluded.answers) == ("ghost_opening", "north gate", 1)
    assert (concluded.concluded, open_one.concluded, concluded.damage) == (True, False, "")
    assert concluded.began
    assert "line 1 is damaged" in rubbish.damage
    assert "cannot read" in folder.damage


def test_the_chosen_folder_wins(tmp_path: Path) -> None:
    assert visits_folder(str(tmp_path)) == tmp_path
    assert visits_folder().name == "visits"


def test_a_place_that_cannot_hold_visits_is_known_before_the_first_question(tmp_path: Path) -> None:
    require_writable(tmp_path / "a" / "b")
    assert list((tmp_path / "a" / "b").iterdir()) == []
    (tmp_path / "file").touch()
    with pytest.raises(VisitError, match=r"cannot keep visits in .*--visits FOLDER"):
        require_writable(tmp_path / "file" / "visits")


def test_earlier_visits_to_a_site_are_found_with_what_was_proved(tmp_path: Path) -> None:
    events: list[Event] = [
        Begin(Setup(), "ghost_opening", site="Invented  Yard"),
        Repaired("window_dirty"),
        Proved(False),
        Repaired("window_iced"),
        Proved(True),
    ]
    with Journal.create(tmp_path, datetime(2026, 1, 2)) as journal:
        for event in events:
            journal.append(event)
    (found,) = at_site(tmp_path, "invented yard")
    assert found.mended == ("window_iced",)
    assert at_site(tmp_path, "another yard") == []
    assert at_site(tmp_path, "") == []
