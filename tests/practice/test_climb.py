"""The ladder: its order by what was measured, up and down, lower lessons between, the same gate for a seed."""

import numpy as np

from diagnose.practice import lessons
from diagnose.practice.climb import EVERY, WEIGHT, at_the_top, climbed, hardness, lesson_due, ordered, prior
from diagnose.practice.gate import Gate
from diagnose.practice.ladder import LADDER
from diagnose.practice.lessons import drawn_for, practice_sites
from diagnose.practice.progress import Progress, WorkedExercise
from tests.practice.gates import shipped

DAY = 739000


def done(lesson: str, score: float = 90.0, day: int = DAY, **more: object) -> WorkedExercise:
    given = {"families": ("supply",), "minutes": 40.0, "best": 40.0, "brier": -1.0, "ended": "solved", "slips": ()}
    return WorkedExercise(day=day, seed=7, lesson=lesson, score=score, **{**given, **more})  # type: ignore[arg-type]


def after(*worked: WorkedExercise) -> Progress:
    progress = Progress("Ann")
    for each in worked:
        progress = progress.after(each)
    return progress


def test_before_anybody_practised_the_knowledge_orders_the_ladder() -> None:
    assert [x.id for x in ordered()] == [x.id for x in LADDER]
    assert prior(LADDER[0]) < 0.3 < prior(LADDER[-1])


def test_a_lesson_that_proves_hard_moves_up_the_ladder_and_by_how_much_is_the_mean_with_its_prior() -> None:
    first = LADDER[0]
    bad = after(*(done(first.id, 10.0) for _ in range(16)))
    assert hardness(first, [bad]) == (WEIGHT * prior(first) + 16) / (WEIGHT + 16)
    assert ordered([bad])[0] is not first
    assert ordered([after(*(done(first.id) for _ in range(16)))])[0] is first


def test_two_good_ones_lead_up_one_bad_one_down_and_luck_is_not_good() -> None:
    first, second = LADDER[0].id, LADDER[1].id
    up = [done(first), done(first)]
    assert climbed(up[:1], LADDER) == (0, 1)
    assert climbed(up, LADDER) == (1, 0)
    assert climbed([done(first), done(first, 20.0), done(first)], LADDER) == (0, 1)
    assert climbed([*up, done(second, 20.0)], LADDER) == (0, 0)
    assert climbed([*up, done(first, 20.0)], LADDER) == (1, 0)  # a lower one that was repeated
    assert climbed([done(first), done(first, passed=False)], LADDER) == (0, 0)
    assert climbed([done(first), done(first, ended="left_out")], LADDER) == (0, 0)


def test_the_staircase_settles_where_seventy_one_of_a_hundred_go_well() -> None:
    """Levitt 1971: two up, one down meets p * p = 1/2. Here each lesson goes well less often than the one below."""
    rng, chances = np.random.default_rng(3), (0.95, 0.85, 0.75, 0.65, 0.5, 0.3)
    worked, wins = list[WorkedExercise](), list[bool]()
    for _ in range(600):
        at = min(climbed(worked[-60:], LADDER)[0] if len(worked) > 60 else climbed(worked, LADDER)[0], 5)
        wins.append(bool(rng.random() < chances[at]))
        worked.append(done(LADDER[at].id, 90.0 if wins[-1] else 10.0))
    assert 0.64 < np.mean(wins[50:]) < 0.78


def test_every_third_exercise_repeats_a_lower_lesson_that_is_due() -> None:
    climbing = after(done("first_steps", day=DAY - 40), done("first_steps", day=DAY - 40))
    assert len(climbing.worked) % EVERY == EVERY - 1
    assert lesson_due(climbing, DAY).id == "first_steps"
    fresh = after(done("first_steps"), done("first_steps"))
    assert lesson_due(fresh, DAY).id == "longer_way"  # done today, so not due again
    more = after(*climbing.worked, done("longer_way", 20.0), done("first_steps"), done("first_steps"))
    assert len(more.worked) % EVERY == EVERY - 1
    assert lesson_due(after(*climbing.worked, done("first_steps", day=DAY - 40)), DAY).id == "longer_way"


def test_after_the_last_lesson_the_examination_comes() -> None:
    whole = [done(x.id) for x in LADDER for _ in range(2)]
    assert not at_the_top(after(*whole[:-1]))
    assert at_the_top(after(*whole))
    assert not at_the_top(after(*whole, done(LADDER[-1].id, 10.0)))


def test_a_seed_gives_everybody_the_same_gate_whatever_he_has_practised() -> None:
    practised = after(done("first_steps", families=("supply",)), done("first_steps", families=("wiring",)))
    one, other = (drawn_for(shipped(), p, LADDER[0], 11) for p in (Progress("Ben"), practised))
    assert one == other


def test_gates_stand_at_different_sites_with_different_sensors_and_kinds_are_mixed(monkeypatch: object) -> None:
    seen = list[tuple[str, str, tuple[str, ...]]]()

    def kept(_r: object, setup: object, wanted: object, _level: object, _seed: int) -> tuple[Gate | None, None]:
        seen.append((str(setup.profile["site.cable_length_m"]), wanted.family, setup.devices))  # type: ignore[attr-defined]
        return None, None

    monkeypatch.setattr(lessons, "draw_level", kept)  # type: ignore[attr-defined]
    for seed in range(40):
        drawn_for(shipped(), Progress("Ann"), LADDER[0], seed)
    sites, families, kinds = (set(each) for each in zip(*seen, strict=True))
    assert len(sites) == len(practice_sites()) > 4
    assert len(families) > 8
    assert len(kinds) == len(shipped().kb.devices)
    seen.clear()
    supply = after(done("first_steps", 10.0))
    drawn_for(shipped(), supply, LADDER[0])
    assert seen[0][1] != "supply"  # the weakest, but it was the last one
