"""Work put into days: nothing twice at once, nothing outside its hours, no promise moved."""

from datetime import date, time
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.day_plan import (
    JobToDo,
    StepToDo,
    honest_date,
    plan_work,
    steps_before,
)
from costing.errors import PlanError
from costing.working_hours import WorkingHours, WorkingLine, instant_of, moment_of

BERLIN = "Europe/Berlin"
MORNING, NOON, ONE, EVENING = time(9), time(12), time(13), time(17)
HOURS = WorkingHours(BERLIN, [[(MORNING, NOON), (ONE, EVENING)]] * 5 + [[], []])
# The nights the clocks change: back on 25 October 2026, on on 28 March 2027, both Sundays.
# Source: Directive 2000/84/EC, last Sundays of March and October, 01:00 UTC.
BACK, ON = date(2026, 10, 25), date(2027, 3, 28)

steps = st.builds(
    StepToDo,
    name=st.just("step"),
    minutes=st.integers(0, 200),
    where=st.sampled_from(["hands", "hands", "oven", "drying"]),
    part=st.sampled_from(["whole", "upper", "sole"]),
)
some_jobs = st.lists(st.lists(steps, max_size=6).map(tuple), max_size=5)
stretches = st.sampled_from([[], [(MORNING, NOON), (ONE, EVENING)], [(time(0), time(6))]])
weeks = st.lists(stretches, min_size=7, max_size=7).filter(any)
starts = st.sampled_from([BACK, ON, date(2026, 11, 26)]).flatmap(
    lambda day: st.integers(-3 * 1440, 1440).map(lambda m: instant_of(day, time(0), BERLIN) + m)
)


def keyed(lists, not_before=0):
    return [JobToDo(f"job {k}", made, not_before) for k, made in enumerate(lists)]


def at(day, clock):
    return instant_of(day, clock, BERLIN)


def shown(block):
    return [
        (f"{moment_of(s.begin_min, BERLIN):%a %H:%M}", f"{moment_of(s.end_min, BERLIN):%H:%M}")
        for s in block.spans
    ]


@settings(max_examples=150, deadline=None)
@given(lists=some_jobs, week=weeks, now=starts, places=st.integers(1, 2))
def test_hands_oven_precedence_and_hours_hold(lists, week, now, places):
    hours = WorkingHours(BERLIN, week, frozenset({BACK}))
    lists = [tuple(s for s in made if s.where != "oven" or s.minutes <= 180) for made in lists]
    jobs = keyed(lists)
    plan = plan_work(jobs, hours, now_min=now, oven_places=places)
    worked = sorted(s for b in plan.blocks if b.where == "hands" for s in b.spans)
    assert all(a.end_min <= b.begin_min for a, b in pairwise(worked))
    oven = [b.spans[0] for b in plan.blocks if b.where == "oven"]
    for span in oven:
        assert sum(o.begin_min <= span.begin_min < o.end_min for o in oven) <= places
    for span in [*worked, *oven]:
        day = moment_of(span.begin_min, BERLIN).date()
        assert any(
            s.begin_min <= span.begin_min and span.end_min <= s.end_min for s in hours.spans_of(day)
        )
        assert day != BACK
    for job in jobs:
        placed = {b.index: b for b in plan.blocks if b.job == job.key}
        assert sorted(placed) == [k for k, s in enumerate(job.steps) if s.minutes]
        for index, block in placed.items():
            minutes = sum(s.minutes for s in block.spans)
            assert minutes == job.steps[index].minutes  # no minute lost or doubled
            assert block.begin_min >= now
            for earlier in steps_before(job.steps)[index]:
                if earlier in placed:
                    assert placed[earlier].end_min <= block.begin_min


@settings(max_examples=60, deadline=None)
@given(lists=some_jobs, more=st.lists(steps, max_size=6).map(tuple))
def test_a_new_job_moves_none_that_stands_before_it(lists, more):
    now = at(date(2026, 11, 26), time(10))
    before = plan_work(keyed(lists), HOURS, now_min=now)
    after = plan_work([*keyed(lists), JobToDo("new", more)], HOURS, now_min=now)
    assert [b for b in after.blocks if b.job != "new"] == list(before.blocks)
    assert plan_work(keyed(lists), HOURS, now_min=now) == before


def test_a_day_of_24_hours_work_has_25_or_23_when_the_clocks_change():
    always = WorkingHours(BERLIN, [[(time(0), time(23, 59))]] * 7)
    lengths = {day: sum(s.minutes for s in always.spans_of(day)) for day in (BACK, ON)}
    assert lengths == {BACK: 24 * 60 + 59, ON: 22 * 60 + 59}
    # A stretch that begins in the hour left out begins when the clocks go on.
    night = WorkingHours(BERLIN, [[(time(2, 30), time(4))]] * 7)
    assert [s.minutes for s in night.spans_of(ON)] == [60]
    assert [s.minutes for s in night.spans_of(BACK)] == [150]
    inside = WorkingHours(BERLIN, [[(time(2, 10), time(2, 50))]] * 7)
    assert inside.spans_of(ON) == ()


def test_work_by_hand_breaks_at_noon_and_over_the_weekend_the_clocks_change():
    now = at(date(2026, 10, 23), time(16))  # Friday
    job = JobToDo("a", (StepToDo("sewing", 300), StepToDo("drying", 600, "drying")))
    sewing, drying = plan_work([job], HOURS, now_min=now).blocks
    assert shown(sewing) == [
        ("Fri 16:00", "17:00"), ("Mon 09:00", "12:00"), ("Mon 13:00", "14:00"),
    ]  # fmt: skip
    assert shown(drying) == [("Mon 14:00", "00:00")]


def test_soles_bake_while_the_uppers_are_sewn_and_the_oven_is_never_left_alone():
    steps_of_pair = (
        StepToDo("cutting", 60),
        StepToDo("sewing", 120, part="upper"),
        StepToDo("soles", 20, part="sole"),
        StepToDo("baking", 150, "oven", "sole"),
        StepToDo("joining", 30),
    )
    now = at(date(2026, 11, 26), MORNING)  # Thursday
    plan = plan_work([JobToDo("a", steps_of_pair)], HOURS, now_min=now)
    assert {b.step: shown(b) for b in plan.blocks} == {
        "cutting": [("Thu 09:00", "10:00")],
        "soles": [("Thu 10:00", "10:20")],
        # 100 minutes are left before noon: it waits until somebody is back.
        "baking": [("Thu 13:00", "15:30")],
        "sewing": [("Thu 10:20", "12:00"), ("Thu 13:00", "13:20")],
        "joining": [("Thu 15:30", "16:00")],
    }


def test_an_honest_date_counts_answer_delivery_queue_and_post():
    now = at(date(2026, 11, 26), MORNING)
    queue = [JobToDo("before", (StepToDo("sewing", 420 * 3),))]
    new = JobToDo("new", (StepToDo("sewing", 420), StepToDo("drying", 600, "drying")))
    said = {"now_min": now, "here_by": date(2026, 11, 27)}
    alone = honest_date(new, [], HOURS, **said)
    assert alone.ready_on == date(2026, 12, 1)  # Monday's work dries into Tuesday's first hours
    assert honest_date(new, queue, HOURS, **said).ready_on == date(2026, 12, 2)
    bought = honest_date(new, queue, HOURS, **said, delivery_days=7, post_days=10)
    assert (bought.ready_on, bought.arrives_on) == (date(2026, 12, 8), date(2026, 12, 18))


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: WorkingHours(BERLIN, [[(EVENING, MORNING)]] + [[]] * 6), "week.0"),
        (lambda: WorkingHours(BERLIN, [[(MORNING, ONE), (NOON, EVENING)]] * 7), "week.0"),
        (lambda: WorkingHours(BERLIN, [[]] * 7), "week"),
        (lambda: WorkingHours("Nowhere/At_all", HOURS.week), "zone"),
        (lambda: StepToDo("sewing", 1_000_000_000), "minutes"),
        (lambda: plan_work([JobToDo("a", (StepToDo("b", 999_999),))], HOURS, now_min=0), "steps"),
        (lambda: plan_work([JobToDo("a", (StepToDo("b", 999, "oven"),))], HOURS, now_min=0),
         "minutes"),
        (lambda: honest_date(JobToDo("a", ()), [], HOURS, now_min=at(BACK, NOON),
                             here_by=date(2026, 10, 24)), "here_by"),
        (lambda: honest_date(JobToDo("a", ()), [], HOURS, now_min=at(BACK, NOON),
                             here_by=date.max), "here_by"),
    ],
)  # fmt: skip
def test_what_cannot_be_planned_is_said_with_its_field(make, field):
    with pytest.raises(PlanError) as caught:
        make()
    assert caught.value.field == field


def shortest(jobs, now):
    """Return the least time the last job can be ready at, by trying every order of all steps."""
    every = [(j, k) for j, job in enumerate(jobs) for k in range(len(job.steps))]
    befores = [steps_before(job.steps) for job in jobs]
    best = None
    for order in permutations(every):
        place = {which: n for n, which in enumerate(order)}
        if all(place[j, earlier] < place[j, k] for j, k in every for earlier in befores[j][k]):
            ends: dict[tuple[int, int], int] = {}
            line = WorkingLine(HOURS, now, 400)
            hands = oven = now
            for j, k in order:
                step = jobs[j].steps[k]
                ready = max([now, *(ends[j, earlier] for earlier in befores[j][k])])
                if step.where == "drying":
                    ends[j, k] = ready + step.minutes
                elif step.where == "oven":
                    begin = max(ready, oven)
                    span = next(
                        s for s in line.spans_from(begin)
                        if max(begin, s.begin_min) + step.minutes <= s.end_min
                    )  # fmt: skip
                    oven = ends[j, k] = max(begin, span.begin_min) + step.minutes
                else:
                    at_place = line.place_at(max(ready, hands))
                    spans = line.spans_between(at_place, at_place + step.minutes)
                    hands = ends[j, k] = spans[-1].end_min
            last = max(ends.values())
            best = last if best is None else min(best, last)
    return best


CHAINS = st.lists(
    st.builds(
        StepToDo,
        name=st.just("step"),
        minutes=st.sampled_from([20, 60, 100]),
        where=st.sampled_from(["hands", "hands", "oven", "drying"]),
        part=st.sampled_from(["whole", "upper", "sole"]),
    ),
    min_size=1,
    max_size=3,
).map(tuple)


@settings(max_examples=25, deadline=None)
@given(lists=st.lists(CHAINS, min_size=1, max_size=2))
def test_the_rule_beats_no_order_that_can_be_and_is_the_best_for_work_by_hand(lists):
    now = at(date(2026, 11, 26), MORNING)
    jobs = keyed(lists)
    ours = max(plan_work(jobs, HOURS, now_min=now).ready_min.values())
    best = shortest(jobs, now)
    assert best <= ours
    if all(step.where == "hands" for job in jobs for step in job.steps):
        assert best == ours
