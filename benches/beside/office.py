"""The office beside COPY: how long crews wait for a push, and an office for its board.

    cargo build --release --no-default-features --features office
    createdb office_bench
    python3 benches/beside/office.py target/release/cladlog postgres://postgres@localhost/office_bench 500 400

On an empty database. Makes one job of 20,000 entries and so many jobs (500) of so many entries each (400), all invented, in
a folder of its own; sends them; times each command as a whole, start to exit, and COPY of the rows that the first push made,
by psql, into a plain table with the same key. Beside each time stands the processor time of the program itself, which
other programs of a busy machine don't change much. Needs psql.
"""

import hashlib
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from typing import NamedTuple

PROGRAM, URL = os.path.abspath(sys.argv[1]), sys.argv[2]
JOBS, ENTRIES = (int(number) for number in (sys.argv[3:5] if len(sys.argv) > 4 else ("500", "400")))
LARGE = 20_000
LETTERS = "bcdfghjkmnpqrstvwxz"
JOB = """key = "base"
name = "Invented house"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [{ name = "Lea", roles = ["lead"] }]
[[wall]]
key = "N"
courses = 9
joints = 4
"""


class Took(NamedTuple):
    """Seconds from start to exit, and those of the processor that the program itself used."""
    all: float
    own: float

    def __str__(self):
        return f"{self.all * 1000:.0f} ms, {self.own * 1000:.0f} of them its own"


def run(*words, clock="2026-12-01T07:00:00+13:00", check=True):
    environment = {**os.environ, "CLADLOG_CLOCK": clock}
    begun = time.perf_counter()
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([PROGRAM, *words], env=environment, capture_output=True, text=True, check=check)
    took, after = time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
    worked = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Took(took, worked), done.stdout


def sql(statement):
    done = subprocess.run(["psql", "-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-c", statement, URL],
                          capture_output=True, text=True, check=True)
    return done.stdout.strip()


def canonical(value):
    """RFC 8785 for what is in these lines: sorted keys, no number but whole ones."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def record(first, key, device, entries, path):
    """A record of one job: set up, then notes a minute apart, each chained to the one before."""
    previous, begun = "0" * 64, datetime(2026, 3, 2, 8)
    with open(path, "w", encoding="utf-8") as file:
        for number in range(1, entries + 1):
            if number == 1:
                entry = json.loads(json.dumps(first))
                entry.pop("hash")
                entry["device"] = device
                entry["body"]["job"] = entry["body"]["building"]["key"] = key
            else:
                at = (begun + timedelta(minutes=number)).isoformat() + "+13:00"
                text = f"walked the wall with the builder, clips and gaps of course {number} checked, nothing to add; " \
                    "two lifts to go before the break, panels under cover, scaffold tag read"
                entry = {"version": 1, "device": device, "happened_at": at, "recorded_at": at, "by": "Lea",
                         "kind": "noted", "body": {"job": key, "rehearsal": True, "subject": "N", "text": text}}
            entry["seq"], entry["prev"] = number, previous
            previous = hashlib.sha256(canonical(entry).encode()).hexdigest()
            file.write(canonical({**entry, "hash": previous}) + "\n")


def median(measure, times=5):
    return sorted(measure() for _ in range(times))[times // 2]


def main():
    os.chdir(tempfile.mkdtemp(prefix="office-bench-"))
    with open("job.toml", "w", encoding="utf-8") as file:
        file.write(JOB)
    run("--db", "base.db", "job", "add", "job.toml", clock="2026-03-02T07:00:00+13:00")
    run("--db", "base.db", "export", "base.jsonl")
    with open("base.jsonl", encoding="utf-8") as file:
        first = json.loads(file.readline())
    office = ("office", "--server", URL)
    run(*office, "init")

    record(first, "large", "bigdevxx", LARGE, "large.jsonl")
    run("--db", "large.db", "merge", "large.jsonl")
    pushed, _ = run("--db", "large.db", *office, "push")
    print(f"first push of {LARGE} entries: {pushed}")
    rows = "SELECT e.* FROM cladlog.entry e JOIN cladlog.job j ON j.id = e.job WHERE j.key = 'large'"
    sql(f"\\copy ({rows}) TO 'large.copy'")
    copied = []
    for _ in range(3):
        sql("CREATE TABLE plain (job int, book int, seq bigint, hash bytea, line text, PRIMARY KEY (job, book, seq))")
        begun = time.perf_counter()
        sql("\\copy plain FROM 'large.copy'")
        copied.append(time.perf_counter() - begun)
        sql("DROP TABLE plain")
    copy = sorted(copied)[1]
    print(f"COPY of the same rows: {copy * 1000:.0f} ms; rate of the push beside it: {copy / pushed.all:.2f}")
    record(first, "large", "bigdevxx", LARGE + 300, "larger.jsonl")
    run("--db", "large.db", "merge", "larger.jsonl")
    took, _ = run("--db", "large.db", *office, "push")
    print(f"push of a day's 300 entries to it: {took}")

    many = Took(0, 0)
    for number in range(JOBS):
        device = "dv" + "".join(LETTERS[number // 19**place % 19] for place in range(3)) + "abc"
        record(first, f"job{number}", device, ENTRIES, "one.jsonl")
        run("--db", f"{number}.db", "merge", "one.jsonl")
        one, _ = run("--db", f"{number}.db", *office, "push")
        many = Took(many.all + one.all, many.own + one.own)
    print(f"push of {JOBS} jobs of {ENTRIES} entries, one after the other: {many}, {JOBS * ENTRIES / many.all:.0f} entries a second")
    print(f"board, nothing worked out yet: {run(*office, 'board', '--json')[0]}")
    took, _ = run(*office, "work", "--once")
    print(f"work, all jobs: {took}, {(JOBS * ENTRIES + LARGE + 300) / took.all:.0f} entries a second")
    print(f"board: {median(lambda: run(*office, 'board', '--json')[0])}")
    print(f"trace: {median(lambda: run(*office, 'trace', 'PF-1', check=False)[0])}")
    took, said = run(*office, "verify", "--json")
    print(f"verify of {json.loads(said)['checked']['entries']} entries: {took}")


main()
