#!/usr/bin/env python3
"""The PDF of a pack beside the typst command's library, on the same pages.

    cargo build && cargo build --example typesetting
    python3 -m venv venv && venv/bin/pip install typst==0.15.2
    venv/bin/python benches/beside/pdf.py target/debug/cladlog target/debug/examples/typesetting DATABASE JOB [ROUNDS]

`typst` on PyPI is the typst compiler itself, built for release. Each round is a process of its own, so that nothing is
remembered from one to the next. On this program's side the whole of `cladlog pack` is timed: reading and replaying the
record, pages, tables, drawings, PDF, hashes, folder and zip. On the other side the compiler's start, the fonts, the
reading of the template and its data, and the PDF. Both make PDF/A-3b with tags. The bound is 1.5 times.
"""

import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

BOUND = 1.5
COMPILE = """
import sys, typst
typst.compile(sys.argv[1] + "/pack.typ", output=sys.argv[2], root=sys.argv[1], pdf_standards=["a-3b"],
              ignore_system_fonts=True)
"""


def timed(command):
    begun = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - begun


def main():
    cladlog, lay_out, database, job = sys.argv[1:5]
    rounds = int(sys.argv[5]) if len(sys.argv) > 5 else 7
    ours, theirs = [], []
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        pages = folder / "pages"
        subprocess.run([lay_out, database, job, pages], check=True)
        for number in range(rounds):
            pack, other = folder / f"pack-{number}", folder / f"other-{number}.pdf"
            # One after the other in each round, so that both meet the same machine.
            ours.append(timed([cladlog, "--db", database, "--job", job, "pack", pack, "--interim"]))
            theirs.append(timed([sys.executable, "-c", COMPILE, pages, other]))
            size, other_size = (pack / "handover.pdf").stat().st_size, other.stat().st_size
    ours, theirs = statistics.median(ours), statistics.median(theirs)
    ratio = ours / theirs
    print(f"cladlog pack {ours:.2f} s ({size} bytes of PDF), typst {theirs:.2f} s ({other_size} bytes): {ratio:.2f} times")
    sys.exit(ratio > BOUND)


main()
