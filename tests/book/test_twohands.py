"""Two people at once: made-up workshops whose times are worked out by hand, and the laws that any plan's keeps."""

from __future__ import annotations

from typing import Any

import pytest

from cutopt.book.words.shifts import shift
from cutopt.book.words.twohands import PEOPLE, Job, TwoHands, person_at, stints, two_hands
from cutopt.planfile import Plan
from cutopt.planfile.model import Step
from tests.book.sample import sample_json, sample_plan
from tests.plans import plan_named


def workshop(*steps: tuple[str, str, float, list[int], float | None], setting: float = 0.0) -> Plan:
    """Steps numbered from 1: source, station, minutes, what they come after, and the fence."""
    made = sample_json()
    shape = made["steps"][0]
    made["steps"] = [
        shape
        | {
            "n": n,
            "source": source,
            "station": station,
            "minutes": minutes,
            "after": after,
            "setup": None if fence is None else {"fence": fence, "datum": "u0"},
        }
        for n, (source, station, minutes, after, fence) in enumerate(steps, 1)
    ]
    made["totals"] |= {"setups": 1, "minutes_by_station": {"setting fences": setting}}
    return Plan.model_validate(made)


def told(hands: TwoHands) -> dict[str, list[tuple[int, float, float]]]:
    """Step, start and end of each person."""
    return {who: [(job.step.n, job.start, job.end) for job in hands.jobs[who]] for who in PEOPLE}


def test_one_saws_while_the_other_prepares_the_next_tile() -> None:
    # bench  |1 1 1|2 2 2|4|6      T1: 1 bench 3 min, then 3 saw 2 min, then 4 brush 1 min
    # saw          |3 3|  |5 5|    T2: 2 bench 3 min, then 5 saw 2 min, then 6 brush 1 min
    #        0     3     6 7 8 9
    plan = workshop(
        ("T1", "bench", 3, [], None),
        ("T2", "bench", 3, [], None),
        ("T1", "table saw", 2, [1], None),
        ("T1", "brush", 1, [3], None),
        ("T2", "jigsaw", 2, [2], None),
        ("T2", "drill", 1, [5], None),
    )
    hands = two_hands(plan)
    assert told(hands) == {
        "bench": [(1, 0, 3), (2, 3, 6), (4, 6, 7), (6, 8, 9)],
        "saw": [(3, 3, 5), (5, 6, 8)],
    }
    assert (hands.minutes, hands.alone) == (9, 12)
    waits = {who: [(job.waited, job.waits_for) for job in hands.jobs[who]] for who in PEOPLE}
    assert waits == {"bench": [(0, None), (0, None), (0, None), (1, 5)], "saw": [(3, 1), (1, 2)]}


def test_who_waits_for_two_steps_is_told_the_later_one() -> None:
    # step 3 wants step 1 of the bench, done at 1, and step 2, done at 5
    plan = workshop(("T1", "bench", 1, [], None), ("T2", "bench", 4, [], None), ("T1", "jigsaw", 1, [2, 1], None))
    (job,) = two_hands(plan).jobs["saw"]
    assert (job.start, job.waited, job.waits_for) == (5, 5, 2)


def test_the_fence_is_set_no_oftener_than_by_one() -> None:
    # T3 is ready at once and stands at 300: sawn before T2 it would want the fence set for 200 twice
    plan = workshop(
        ("T1", "table saw", 1, [], 200.0),
        ("T2", "bench", 5, [], None),
        ("T2", "table saw", 1, [2], 200.0),
        ("T3", "table saw", 1, [], 300.0),
        ("T4", "jigsaw", 1, [], None),
        setting=0.5,
    )
    hands = two_hands(plan)
    # the notch, which no fence is set for, is sawn in the meantime; 0.5 for each of the two settings
    assert told(hands)["saw"] == [(1, 0, 1.5), (5, 1.5, 2.5), (3, 5, 6), (4, 6, 7.5)]
    assert hands.alone == 10


def test_steps_in_a_circle_are_done_in_their_order() -> None:
    plan = workshop(("T1", "bench", 1, [2], None), ("T1", "jigsaw", 1, [1], None), ("T1", "bench", 1, [3, 99], None))
    assert [job.step.n for job in order(two_hands(plan))] == [1, 2, 3]


def test_lines_join_what_is_done_at_one_tile_without_a_wait() -> None:
    plan = workshop(
        ("T1", "bench", 1, [], None),
        ("T1", "bench", 1, [1], None),
        ("T1", "jigsaw", 1, [2], None),
        ("T1", "bench", 1, [3], None),
        ("T2", "bench", 0.5, [], None),
        ("T2", "drill", 0.5, [5], None),
        ("T1", "brush", 1, [4], None),
    )
    lines = stints(two_hands(plan), "bench")
    # T2 fills the time until step 3 is done; then T1 goes on with 4, and 7 follows without a wait
    assert [(line.jobs[0].step.source, line.numbers, line.wanted) for line in lines] == [
        ("T1", "1–2", (2,)),
        ("T2", "5–6", ()),
        ("T1", "4, 7", ()),
    ]


def test_page_lists_say_who_waits_for_what() -> None:
    plan = workshop(("T1", "bench", 64, [], None), ("T1", "jigsaw", 2, [1], None))
    found = shift(plan)
    assert found is not None
    bench, saw = found.hands
    assert [hand.title for hand in found.hands] == ["At the bench", "At the saw"]
    assert (found.together, found.alone) == ("66 min", "66 min")
    assert bench.stints[0].stint.wanted == (1,)
    (line,) = saw.stints
    assert (line.start, line.source, line.waited) == ("1:04", "T1", "64 min")
    assert line.wait is not None
    assert (line.wait.step, line.wait.source) == (1, "T1")


def test_no_lists_where_one_would_stand_idle() -> None:
    assert shift(workshop(("T1", "bench", 1, [], None))) is None
    made: dict[str, Any] = sample_json()
    made["steps"] = []
    assert shift(Plan.model_validate(made)) is None


@pytest.mark.parametrize("plan", [sample_plan(), plan_named("demo")], ids=["sample", "demo"])
def test_laws(plan: Plan) -> None:
    hands = two_hands(plan)
    jobs = order(hands)
    done = {job.step.n: job for job in jobs}
    assert sorted(done) == [step.n for step in plan.steps]
    for who in PEOPLE:
        mine = hands.jobs[who]
        assert all(person_at(job.step.station) == who for job in mine)
        ends = [0.0, *(job.end for job in mine)]
        for job, free in zip(mine, ends, strict=False):
            assert job.start >= free
            assert job.waited == pytest.approx(job.start - free)
            assert (job.waits_for is None) == (job.waited == 0)
            if job.waits_for is not None:
                assert done[job.waits_for].end == pytest.approx(job.start)
    for job in jobs:
        assert all(done[n].end <= job.start for n in job.step.after)
    assert settings([job.step for job in jobs]) == settings(plan.steps)
    by_station = plan.totals.minutes_by_station
    assert hands.alone == pytest.approx(
        sum(step.minutes for step in plan.steps) + by_station.get("setting fences", 0.0), abs=0.05
    )
    assert max(sum(job.end - job.start for job in hands.jobs[who]) for who in PEOPLE) <= hands.minutes <= hands.alone


def order(hands: TwoHands) -> list[Job]:
    """All jobs in the order of their starts."""
    return sorted((job for jobs in hands.jobs.values() for job in jobs), key=lambda job: (job.start, job.step.n))


def settings(steps: list[Step] | tuple[Step, ...]) -> int:
    """How often the fence is set."""
    fences = [(step.setup.fence, step.setup.datum[0]) for step in steps if step.setup is not None]
    return sum(n == 0 or fence != fences[n - 1] for n, fence in enumerate(fences))
