"""Hands and an oven against the published worked example of two machines in a row."""

from datetime import time

from costing.day_plan import JobToDo, StepToDo, plan_work
from costing.working_hours import WorkingHours

# Source: S. M. Johnson, "Optimal two- and three-stage production schedules with setup times
# included", Naval Research Logistics Quarterly 1 (1954), pp. 61-68: five items, times on the first
# and the second machine, best order 5, 1, 4, 3, 2 with 4 units of idle time on the second machine
# (from memory). All items are over after the second machine's 43 units and its idle time.
FIRST = {1: 4, 2: 4, 3: 30, 4: 6, 5: 2}
SECOND = {1: 5, 2: 1, 3: 4, 4: 30, 5: 3}
BEST_ORDER = (5, 1, 4, 3, 2)
IDLE = 4


def over_after(order):
    always = WorkingHours("UTC", [[(time(0), time(23, 59))]] * 7)
    jobs = [
        JobToDo(
            str(item), (StepToDo("by hand", FIRST[item]), StepToDo("bake", SECOND[item], "oven"))
        )
        for item in order
    ]
    return max(plan_work(jobs, always, now_min=0).ready_min.values())


def test_the_published_best_order_is_over_at_the_published_time():
    assert over_after(BEST_ORDER) == sum(SECOND.values()) + IDLE
    # The order they are named in leaves the oven idle for longer.
    assert over_after((1, 2, 3, 4, 5)) > over_after(BEST_ORDER)
