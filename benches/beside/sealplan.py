"""Seal plans of this program beside OR-Tools CP-SAT, in one run: joints, finish, seconds.

    cargo build --release --no-default-features
    python3 -m venv venv && venv/bin/pip install ortools==9.15.6755
    venv/bin/python benches/beside/sealplan.py target/release/cladlog

Thirty invented days of 10 to 60 joints (a third fair, a third crowded, a third mixed: openings and corners, drying before and
after, skins that count from the bead's first metre), then one of 120 with six people. CP-SAT runs twice, with
`--long` and with `--short` seconds, each for the count and again for the finish, which is more than our plan gets. The
model and the days are those of tests/sealplan/fixtures. Run it on a machine with nothing else to do. Exit 1 when a bound
does not hold:

- each plan within 2 s, the one of 120 joints within 3 s;
- as many joints as CP-SAT with the long limit where it proves its count, at most one fewer elsewhere;
- never fewer joints than CP-SAT with the short limit;
- with as many joints as CP-SAT's long run, the finish within 2 % of the day in the median and 5 % at worst.
"""

import argparse
import datetime
import json
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve()
sys.path.insert(0, str(HERE.parents[2] / "tests" / "sealplan" / "fixtures"))

import cpsat  # noqa: E402
import days  # noqa: E402

SIZES = [10, 12, 15, 18, 20, 25, 30, 40, 50, 60]


def invented():
    for nth, joints in enumerate(SIZES):
        yield f"fair {joints}", days.fair(300 + nth, joints)
        yield f"crowded {joints}", days.crowded(400 + nth, joints, max(1, joints // 15))
        yield f"mixed {joints}", days.mixed(600 + nth, joints, max(1, joints // 10))


def ours(binary, path, origin):
    begun = time.monotonic()
    run = subprocess.run([binary, "calc", "sealplan", path, "--json"], capture_output=True, text=True, check=True)
    took = time.monotonic() - begun
    answer = json.loads(run.stdout)
    finish = answer.get("finish_at")
    if finish is not None:
        finish = round((datetime.datetime.fromisoformat(finish) - origin).total_seconds() / 60)
    return len(answer["joints"]), finish, took


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--long", type=float, default=60)
    parser.add_argument("--short", type=float, default=2)
    parser.add_argument("--workers", type=int, default=4)
    parser.add_argument("--only", type=int, help="the first so many days alone")
    args = parser.parse_args()
    broken, late = [], []
    print(f"| day | joints | CP-SAT {args.long:g} s | proved | CP-SAT {args.short:g} s | finish | CP-SAT finish | seconds |")
    print("|---|---|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "day.toml"
        for name, text in list(invented())[: args.only]:
            path.write_text(text)
            day = cpsat.read(path)
            origin = datetime.datetime.fromisoformat("2026-03-02T07:00:00+13:00")
            joints, finish, took = ours(args.binary, path, origin)
            long = cpsat.solve(day, args.long, args.workers) or (0, False, None, False)
            short = cpsat.solve(day, args.short, args.workers) or (0, False, None, False)
            proved = "yes" if long[1] else "no"
            print(f"| {name} | {joints} | {long[0]} | {proved} | {short[0]} | {finish} | {long[2]} | {took:.2f} |", flush=True)
            if took > 2:
                broken.append(f"{name}: {took:.2f} s")
            if joints < long[0] - (0 if long[1] else 1):
                broken.append(f"{name}: {joints} joints, CP-SAT {long[0]}")
            if joints < short[0]:
                broken.append(f"{name}: {joints} joints, CP-SAT in {args.short:g} s {short[0]}")
            if joints == long[0] and None not in (finish, long[2]):
                late.append((finish - long[2]) / day["until"])
        path.write_text(days.fair(500, 120).replace("crew = 2", "crew = 6").replace("crew = 3", "crew = 6").replace("crew = 4", "crew = 6"))
        joints, finish, took = ours(args.binary, path, datetime.datetime.fromisoformat("2026-03-02T07:00:00+13:00"))
        print(f"| fair 120, six people | {joints} | | | | {finish} | | {took:.2f} |")
        if took > 3:
            broken.append(f"120 joints: {took:.2f} s")
    if late:
        median, worst = statistics.median(late), max(late)
        print(f"\nFinish later than CP-SAT by {median:.1%} of the day in the median, {worst:.1%} at worst.")
        if median > 0.02 or worst > 0.05:
            broken.append(f"finish: {median:.1%} in the median, {worst:.1%} at worst")
    for line in broken:
        print(f"NOT MET: {line}")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
