"""Cut plans of this program beside OR-Tools CP-SAT, in one run: length bought, boards, proofs, seconds.

    cargo build --release --no-default-features
    python3 -m venv venv && venv/bin/pip install ortools==9.15.6755
    venv/bin/python benches/beside/cuts.py target/release/cladlog

Twenty invented walls of 60 to 400 pieces and 1 to 3 stock lengths, each planned by this program and then by CP-SAT with
`--seconds` and all cores; CP-SAT stops as soon as it has proved its plan. It gets every pattern where there are few, else
an arc flow over the sums that pieces can reach on a board; both aims in one, length first and then boards. Then a job of
5,000 pieces of 80 lengths, by this program alone. Run it on a machine with nothing else to do. Exit 1 when a bound does
not hold:

- never more length than CP-SAT, nor more boards for the same length;
- proven on at least 19 of the 20, and no length that both prove differs;
- at least 10 times faster in the median;
- the 5,000 pieces within one board of the bound in 2 s; with the usual time box never more than 200 MB.
"""

import argparse
import csv
import json
import pathlib
import random
import statistics
import subprocess
import sys
import tempfile
import time

from ortools.sat.python import cp_model

STOCKS = [[3000], [3600], [3000, 3600], [2400, 4200], [2400, 3000, 3600], [2440, 3050, 3660]]
KERF = 4
FEW = 5000
# A process of its own: what a child weighs before it becomes this program would be what CP-SAT made this one weigh.
PEAK = """
import resource, subprocess, sys
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=True)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def wall(seed, pieces, kinds, stock):
    """Lengths with their counts: a third of the kinds short, as beside openings, the rest anything up to a board."""
    r = random.Random(seed)
    short = r.sample(range(250, 900), kinds // 3)
    rest = r.sample([n for n in range(500, max(stock)) if n not in short], kinds - len(short))
    lengths = sorted(short + rest, reverse=True)
    counts = dict.fromkeys(lengths, 1)
    for length in r.choices(lengths, k=pieces - kinds):
        counts[length] += 1
    return counts


def invented():
    for nth in range(20):
        pieces = 60 + round(nth * 340 / 19)
        yield wall(700 + nth, pieces, 8 + nth % 5 * 5, STOCKS[nth % len(STOCKS)]), STOCKS[nth % len(STOCKS)]


def patterns(sizes, demand, room):
    """All ways to fill a board that no further piece fits on, or None when they are not few."""
    found = []

    def go(kind, left, counts):
        if len(found) > FEW:
            return
        if kind == len(sizes):
            if all(left < size or n == most for size, n, most in zip(sizes, counts, demand)):
                found.append(counts)
            return
        for n in range(min(demand[kind], left // sizes[kind]), -1, -1):
            go(kind + 1, left - n * sizes[kind], counts + [n])

    go(0, room, [])
    return None if len(found) > FEW else found


def by_patterns(model, sizes, demand, stock, each):
    boards = {s: [] for s in stock}
    made = [[] for _ in sizes]
    for s in stock:
        for counts in each[s]:
            times = model.new_int_var(0, sum(demand), "")
            boards[s].append(times)
            for kind, n in enumerate(counts):
                if n:
                    made[kind].append(n * times)
    for kind, wanted in enumerate(demand):
        model.add(sum(made[kind]) >= wanted)
    return boards


def by_arcs(model, sizes, demand, stock):
    """Flow from 0 along a board: an arc for each piece that may lie there, longest first, and for what is left over."""
    most = max(stock) + KERF
    reached, arcs = {0}, []
    for kind, size in enumerate(sizes):
        # Arcs of this kind start where longer ones, or fewer of its own, can have ended.
        starts, front = set(), set(reached)
        for _ in range(demand[kind]):
            front = {at for at in front if at + size <= most}
            new = front - starts
            if not new:
                break
            starts |= new
            front = {at + size for at in new}
        arcs += [(at, at + size, kind) for at in starts]
        reached |= {at + size for at in starts}
    ends = {s + KERF: s for s in stock}
    nodes = sorted(reached | set(ends))
    into, out_of = {n: [] for n in nodes}, {n: [] for n in nodes}
    made = [[] for _ in sizes]
    for tail, head, kind in arcs:
        flow = model.new_int_var(0, demand[kind], "")
        out_of[tail].append(flow)
        into[head].append(flow)
        made[kind].append(flow)
    for tail, head in zip(nodes[1:], nodes[2:]):
        flow = model.new_int_var(0, sum(demand), "")
        out_of[tail].append(flow)
        into[head].append(flow)
    boards = {s: [model.new_int_var(0, sum(demand), "")] for s in stock}
    for node in nodes[1:]:
        leaving = out_of[node] + (boards[ends[node]] if node in ends else [])
        model.add(sum(into[node]) == sum(leaving))
    model.add(sum(out_of[0]) == sum(one for all_of in boards.values() for one in all_of))
    for kind, wanted in enumerate(demand):
        model.add(sum(made[kind]) == wanted)
    return boards


def cpsat(counts, stock, seconds):
    """(model, length, boards, proven, seconds); the building of the model counts, as ours counts reading the file."""
    begun = time.monotonic()
    sizes, demand = [length + KERF for length in counts], list(counts.values())
    model = cp_model.CpModel()
    each = {s: patterns(sizes, demand, s + KERF) for s in stock}
    few = all(found is not None for found in each.values())
    boards = by_patterns(model, sizes, demand, stock, each) if few else by_arcs(model, sizes, demand, stock)
    length = sum(s * times for s, all_of in boards.items() for times in all_of)
    many = sum(times for all_of in boards.values() for times in all_of)
    model.minimize((sum(demand) + 1) * length + many)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    took = time.monotonic() - begun
    kind = "patterns" if few else "arcs"
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return kind, None, None, False, took
    return kind, solver.value(length), solver.value(many), status == cp_model.OPTIMAL, took


def command(binary, path, stock):
    return [binary, "calc", "cuts", path, "--stock", ",".join(map(str, stock)), "--kerf", str(KERF), "--json"]


def ours(binary, path, counts, stock, *more):
    with open(path, "w", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["label", "length_mm", "count"])
        rows.writerows((f"p{length}", length, count) for length, count in counts.items())
    begun = time.monotonic()
    run = subprocess.run([*command(binary, path, stock), *more], capture_output=True, text=True, check=True)
    took = time.monotonic() - begun
    plan = json.loads(run.stdout)
    # Counted again here, so that a plan that does not fit, or leaves a piece out, can't pass for a good one.
    cut = dict.fromkeys(counts, 0)
    for pattern in plan["patterns"]:
        lengths = [piece["length_mm"] for piece in pattern["pieces"]]
        assert sum(lengths) + KERF * len(lengths) <= pattern["stock_mm"] + KERF, pattern
        for length in lengths:
            cut[length] += pattern["times"]
    assert cut == counts, "not the pieces asked for"
    assert plan["bought_mm"] == sum(p["times"] * p["stock_mm"] for p in plan["patterns"])
    return plan, took


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--only", type=int, help="the first so many walls alone")
    args = parser.parse_args()
    broken, proofs, ratios, walls = [], 0, [], list(invented())[: args.only]
    yes = {True: "yes", False: "no"}
    print("| pieces | lengths | stock kinds | mm | boards | proven | s | CP-SAT model | mm | boards | proven | s | ratio |")
    print("|---|---|---|---|---|---|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        path = str(pathlib.Path(folder) / "wall.csv")
        times = []
        for counts, stock in walls:
            plan, took = ours(args.binary, path, counts, stock)
            model, length, boards, proven, theirs = cpsat(counts, stock, args.seconds)
            pieces = sum(counts.values())
            proofs += plan["proven"]
            ratios.append(theirs / took)
            times.append((took, theirs))
            print(
                f"| {pieces} | {len(counts)} | {len(stock)} | {plan['bought_mm']} | {plan['boards']} | {yes[plan['proven']]} "
                f"| {took:.2f} | {model} | {length or 'none'} | {boards or 'none'} | {yes[proven]} | {theirs:.2f} "
                f"| {theirs / took:.1f} |",
                flush=True,
            )
            if length is not None and (plan["bought_mm"], plan["boards"]) > (length, boards):
                broken.append(f"{pieces} pieces: {plan['bought_mm']} mm on {plan['boards']}, CP-SAT {length} on {boards}")
            if plan["proven"] and proven and plan["bought_mm"] != length:
                broken.append(f"{pieces} pieces: both prove, {plan['bought_mm']} mm and CP-SAT {length} mm")
        counts, stock = wall(999, 5000, 80, [3000, 3600]), [3000, 3600]
        plan, took = ours(args.binary, path, counts, stock, "--seconds", "1.8")
        weighed = [sys.executable, "-I", "-c", PEAK, *command(args.binary, path, stock)]
        peak = int(subprocess.run(weighed, capture_output=True, text=True, check=True).stdout) / 1024
    over = (plan["bought_mm"] - plan["lower_bound_mm"]) / max(stock)
    median = statistics.median(ratios)
    print(
        f"\nIn the median {statistics.median(t for t, _ in times):.2f} s, CP-SAT {statistics.median(t for _, t in times):.2f} s, "
        f"{median:.1f} times faster; proven on {proofs} of {len(walls)}."
    )
    print(
        f"5,000 pieces of 80 lengths: {took:.2f} s, {plan['boards']} boards, length proven: {yes[plan['proven']]}, {over:.2f} boards of {max(stock)} mm over the bound. "
        f"Peak memory with the usual time box {peak:.0f} MB."
    )
    if proofs < len(walls) - 1:
        broken.append(f"proven on {proofs} of {len(walls)}")
    if median < 10:
        broken.append(f"{median:.1f} times faster in the median")
    if took > 2 or over > 1:
        broken.append(f"5,000 pieces: {took:.2f} s, {over:.2f} boards over the bound")
    if peak > 200:
        broken.append(f"peak memory {peak:.0f} MB")
    for line in broken:
        print(f"NOT MET: {line}")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
