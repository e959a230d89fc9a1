"""Plans the same problem with PyVRP, for comparison only.

    python3 -m venv venv && venv/bin/pip install pyvrp==0.14.1
    venv/bin/python benches/route/pyvrp_plan.py SECONDS < problem.json > plan.json

Problem and plan have the form of `plantward route`. Understood are one window per stop, one
capacity in whole numbers, skills and `only`; every stop must be served.
"""

import json
import sys

from pyvrp import Model
from pyvrp.stop import MaxRuntime


def may_take(day, stop):
    listed = stop.get("only") is None or day["id"] in stop["only"]
    return listed and set(stop.get("skills", [])) <= set(day.get("skills", []))


def shifted(day, stop, zero):
    first, last = stop["window"]
    return {"tw_early": first - zero, "tw_late": last - zero}


def build(problem):
    """A model, its days and its stops in the order in which PyVRP numbers them."""
    matrix, days, stops = problem["matrix"], problem["technicians"], problem["stops"]
    zero = min([day["window"][0] for day in days] + [stop["window"][0] for stop in stops])
    model = Model()
    places = [model.add_location(0, 0) for _ in matrix]
    depots = {node: model.add_depot(places[node]) for node in sorted({d[k] for d in days for k in ("start", "end")})}
    for stop in stops:
        load = [int(stop.get("load", "0"))]
        model.add_client(places[stop["node"]], delivery=load, service_duration=stop["service"],
                         **shifted(None, stop, zero))
    profiles = {}
    for day in days:
        able = frozenset(i for i, stop in enumerate(stops) if may_take(day, stop))
        if able not in profiles:
            profiles[able] = add_profile(model, matrix, places, stops, able, depots)
        model.add_vehicle_type(
            1, capacity=[int(day.get("capacity") or 10**9)], start_depot=depots[day["start"]],
            end_depot=depots[day["end"]], tw_early=day["window"][0] - zero,
            tw_late=day["window"][1] - zero, profile=profiles[able])
    return model


def add_profile(model, matrix, places, stops, able, depots):
    """Places of stops that this kind of technician may not take are out of reach."""
    profile = model.add_profile()
    barred = {stop["node"] for i, stop in enumerate(stops) if i not in able}
    barred -= {stop["node"] for i, stop in enumerate(stops) if i in able} | set(depots)
    for a, row in enumerate(matrix):
        for b, travel in enumerate(row):
            if a != b:
                far = 10**6 if (a in barred or b in barred) else travel
                model.add_edge(places[a], places[b], distance=far, duration=far, profile=profile)
    return profile


def main():
    problem = json.load(sys.stdin)
    result = build(problem).solve(MaxRuntime(float(sys.argv[1])), seed=1, display=False)
    routes = []
    for route in result.best.routes():
        ids = [problem["stops"][visit.idx]["id"] for visit in route.schedule() if visit.is_client()]
        routes.append({"technician": problem["technicians"][route.vehicle_type()]["id"], "stops": ids})
    json.dump({"feasible": result.is_feasible(), "travel": int(result.cost()), "routes": routes,
               "iterations": result.num_iterations}, sys.stdout)


if __name__ == "__main__":
    main()
