"""How far the day plan's rule is from the best order: python -m tests.bench.day_plan_gap.

Small random workshops (one to three jobs, six steps at most, seeded) are planned by the rule and by
trying every order of all steps. Printed: how often the rule finds the least time, the mean and the
greatest excess over it, counted from now until the last job is ready, nights included; and how
often the last job is ready on the same day as by the best order.
"""

from datetime import date
from random import Random

from costing.day_plan import JobToDo, StepToDo, plan_work
from costing.working_hours import moment_of
from tests.costing.test_day_plan import BERLIN, HOURS, MORNING, at, shortest

CASES = 300
MOST_STEPS = 6


def some_jobs(random: Random) -> list[JobToDo]:
    """Return a small workshop."""
    counts = [random.randint(1, 4) for _job in range(random.randint(1, 3))]
    while sum(counts) > MOST_STEPS:
        counts.pop()
    return [
        JobToDo(
            f"job {k}",
            tuple(
                StepToDo(
                    f"step {n}",
                    random.choice([15, 30, 60, 90, 120]),
                    random.choice(["hands", "hands", "oven", "drying"]),
                    random.choice(["whole", "upper", "sole"]),
                )
                for n in range(count)
            ),
        )
        for k, count in enumerate(counts)
    ]


def main() -> None:
    """Print the three figures."""
    random, now = Random(7), at(date(2026, 11, 26), MORNING)
    over, same_day = [], 0
    for _case in range(CASES):
        jobs = some_jobs(random)
        ours = max(plan_work(jobs, HOURS, now_min=now).ready_min.values())
        best = shortest(jobs, now)
        over.append((ours - now) / (best - now) - 1)
        same_day += moment_of(ours - 1, BERLIN).date() == moment_of(best - 1, BERLIN).date()
    print(f"{CASES} workshops: the least time in {sum(o == 0 for o in over)},")
    print(f"the same day in {same_day};")
    print(
        f"over it by {100 * sum(over) / CASES:.1f} % in the mean, {100 * max(over):.0f} % at most"
    )


if __name__ == "__main__":
    main()
