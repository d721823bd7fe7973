#!/usr/bin/env python3
"""Makes the instances that the planner is checked with, and solves them with OR-tools.

    pip install ortools==9.15.6755
    python3 plan_instances.py published FOLDER > published.txt
    python3 plan_instances.py made > made.txt

`published` reads the 270 instances of the test set J10 for project scheduling with limited resources
and minimal and maximal time lags (files PSP1.SCH to PSP270.SCH of PSPLIB, made with Schwindt's
ProGen/max; Kolisch and Sprecher, European Journal of Operational Research 96, 1997, 205-216).

`made` makes instances shaped like procedures, from one seed: several jobs, each a chain of steps with
some side branches, waits with windows, one or two people, one crane, one compressor; in every third
there is a condition that one job sets for a while and that forbids steps of another. All invented.

A line is an instance, its fields between " | ":
    name | least finish or "infeasible" | capacities | durations
         | uses: activity.resource.units ... | lags: from>to:lag ... (start to start; negative: a maximal
           lag the other way) | least cure | choices: from>to:lag/from>to:lag ... (one of two is kept)
The least cure of an infeasible instance is by how much one maximal lag must be longer at least, when
only one may be: a figure, or "none" where no single one cures it; "-" for the others.
"""

import random
import sys
from pathlib import Path

import ortools
from ortools.sat.python import cp_model

PINNED = "9.15.6755"


def solve(capacities, lasts, uses, lags, choices, cure=False):
    """Returns the least finish; with cure, the least lengthening of one maximal lag."""
    model = cp_model.CpModel()
    after = [0] * len(lasts)
    for one, _, lag in [*lags, *(lag for pair in choices for lag in pair)]:
        after[one] = max(after[one], lag)
    horizon = sum(max(last, lag) for last, lag in zip(lasts, after))
    starts = [model.new_int_var(0, horizon, "") for _ in lasts]
    end = model.new_int_var(0, horizon, "")
    spans = [model.new_fixed_size_interval_var(s, d, "") for s, d in zip(starts, lasts)]
    for start, last in zip(starts, lasts):
        model.add(end >= start + last)
    for pair in choices:
        first = model.new_bool_var("")
        for (one, other, lag), kept in zip(pair, (first, ~first)):
            model.add(starts[other] >= starts[one] + lag).only_enforce_if(kept)
    longer = model.new_int_var(0, 2 * horizon, "")
    chosen = []
    for one, other, lag in lags:
        if cure and lag < 0:
            is_it = model.new_bool_var("")
            chosen.append(is_it)
            model.add(starts[other] + longer >= starts[one] + lag).only_enforce_if(is_it)
            model.add(starts[other] >= starts[one] + lag).only_enforce_if(~is_it)
        else:
            model.add(starts[other] >= starts[one] + lag)
    if cure:
        model.add_exactly_one(chosen)
    for place, capacity in enumerate(capacities):
        mine = [(spans[a], units) for a, r, units in uses if r == place]
        model.add_cumulative([s for s, _ in mine], [u for _, u in mine], capacity)
    model.minimize(longer if cure else end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = 60
    status = solver.solve(model)
    if status == cp_model.OPTIMAL:
        return str(round(solver.objective_value)), solver.wall_time
    if status == cp_model.INFEASIBLE:
        return "infeasible", solver.wall_time
    return None, solver.wall_time


def published(folder):
    for number in range(1, 271):
        rows = (Path(folder) / f"PSP{number}.SCH").read_text().replace("[", " ").replace("]", " ")
        rows = [[int(word) for word in row.split()] for row in rows.splitlines() if row.strip()]
        count, kinds = rows[0][0] + 2, rows[0][1]
        lags, lasts, uses = [], [], []
        for row in rows[1 : 1 + count]:
            arcs = row[2]
            lags += [(row[0], to, lag) for to, lag in zip(row[3 : 3 + arcs], row[3 + arcs :])]
        for place, row in enumerate(rows[1 + count : 1 + 2 * count]):
            lasts.append(row[2])
            uses += [(place, r, row[3 + r]) for r in range(kinds) if row[3 + r]]
        yield f"PSP{number}", rows[1 + 2 * count], lasts, uses, lags, []


def made():
    dice = random.Random(1951)
    for number in range(1, 151):
        people = dice.choice([1, 1, 2])
        capacities = [people, 1, 1]
        steps = dice.choice([10, 15, 20, 30, 40, 50, 60])
        jobs = dice.choice([1, 2, 3, 4]) if steps > 10 else dice.choice([1, 2])
        tight = dice.choice([1.0, 1.0, 0.4])
        windows = 0.6 if steps < 40 else dice.choice([0.1, 0.2, 0.4])
        lasts, uses, lags, choices, of_job = [], [], [], [], []
        for job in range(jobs):
            size = steps // jobs + (job < steps % jobs)
            before = []
            for _ in range(size):
                here = len(lasts)
                lasts.append(dice.choice([2, 3, 5, 5, 8, 10, 10, 15, 20, 30, 45]))
                uses.append((here, 0, 2 if people == 2 and dice.random() < 0.2 else 1))
                for kind in (1, 2):
                    if dice.random() < 0.15:
                        uses.append((here, kind, 1))
                # Mostly after the step before; sometimes beside it, and then joined again.
                after = [before[-1]] if before else []
                if len(before) > 1 and dice.random() < 0.2:
                    after = [before[-2]]
                elif len(before) > 1 and dice.random() < 0.2:
                    after = before[-2:]
                for one in after:
                    wait = dice.choice([10, 20, 30, 60, 120, 240]) if dice.random() < 0.25 else 0
                    lags.append((one, here, lasts[one] + wait))
                    if wait and dice.random() < windows:
                        window = int(tight * dice.choice([10, 15, 30, 60, 120]))
                        lags.append((here, one, -(lasts[one] + wait + window)))
                    elif not wait and dice.random() < windows / 10:
                        # Pot life: to be used up soon after it was mixed.
                        lags.append((here, one, -(lasts[one] + dice.choice([5, 10, 20]))))
                before.append(here)
            of_job.append(before)
        if number % 3 == 0 and jobs > 1:
            # The first job keeps a condition set from the end of one step to the end of another.
            sets, clears = sorted(dice.sample(of_job[0], 2))
            for step in dice.sample(of_job[1], min(3, len(of_job[1]))):
                choices.append([(step, sets, lasts[step]), (clears, step, lasts[clears])])
        yield f"made-{number}-{steps}-steps", capacities, lasts, uses, lags, choices


def main():
    if ortools.__version__ != PINNED:
        sys.exit(f"OR-tools {PINNED} is wanted, here is {ortools.__version__}")
    which = sys.argv[1] if len(sys.argv) > 1 else ""
    if which not in ("published", "made") or len(sys.argv) != (3 if which == "published" else 2):
        sys.exit(__doc__)
    times, left_out = [], 0
    for name, *work in published(sys.argv[2]) if which == "published" else made():
        answer, seconds = solve(*work)
        if answer is None:
            left_out += 1
            print(f"{name}: not solved in 60 s, left out", file=sys.stderr)
            continue
        times.append(seconds)
        least = "-"
        if answer == "infeasible":
            least, _ = solve(*work, cure=True)
            least = {"infeasible": "none", None: "unknown"}.get(least, least)
        capacities, lasts, uses, lags, choices = work
        fields = [
            name,
            answer,
            " ".join(map(str, capacities)),
            " ".join(map(str, lasts)),
            " ".join(f"{a}.{r}.{u}" for a, r, u in uses),
            " ".join(f"{one}>{other}:{lag}" for one, other, lag in lags),
            least,
            " ".join("/".join(f"{one}>{other}:{lag}" for one, other, lag in pair) for pair in choices),
        ]
        print(" | ".join(fields).rstrip(), flush=True)
    times.sort()
    middle, worst = times[len(times) // 2], times[-1]
    print(
        f"{len(times)} solved, {left_out} left out; OR-tools median {middle:.3f} s, worst {worst:.3f} s",
        file=sys.stderr,
    )


if __name__ == "__main__":
    main()
