"""Small pictures of photos by this program beside vipsthumbnail, over the same files: seconds, ratio, peak memory.

    apt-get install libvips-tools time
    python3 -m venv venv && venv/bin/pip install pillow numpy
    cargo build --release --no-default-features
    cargo bench --no-default-features --bench thumbnails --no-run
    venv/bin/python benches/beside/photos.py [--count 500] target/release/cladlog target/release/deps/thumbnails-*

Makes photos as phones write them: 4032 x 3024 pixels, about 4 MB, 4:2:0, baseline, with EXIF (time, offset, place,
direction, and every seventh held upright: orientation 6); no two alike. Then, each by `/usr/bin/time -v`, in turn and
`--rounds` times, the least counts:

- vipsthumbnail, one run over all files, 400 pixels, quality 78: read, make smaller, write;
- two runs of it side by side over half of the files each, for comparison: one run works on one file after the other;
- thumbnails: the same by our library and nothing else (benches/thumbnails.rs);
- `cladlog photo add` of all: each photo is read and hashed, its picture read to the end (else it is refused), then
  the file copied beside the database, hashed again and made durable (fsync), and one entry recorded;
- `cladlog pack` of them: each photo read and hashed, its small picture made; then all written into the folder and
  once more into the zip, made durable, with pages, tables and record;
- the same bytes only copied and made durable, one file after the other: what of `photo add` is the disk.

All runs read files that the system has in memory. Exit 1 when a small picture of ours has not the pixels of vips' one,
when the thumbnails take more than 1.2 times as long, or when any run of ours takes more than 400 MB.
"""

import argparse
import concurrent.futures
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time

import numpy
from PIL import Image

WIDTH, HEIGHT = 4032, 3024
LONGEST, QUALITY = 400, 78
MOST_RATIO, MOST_MB = 1.2, 400

JOB = """
key = "bench"
name = "Photos to be counted"
time_zone = "Pacific/Auckland"
sequence = "panels-on-clips"
person = [{ name = "Mere Tahana", roles = ["lead"] }]
[[wall]]
key = "N"
name = "North"
length_mm = 4800
height_mm = 2400
courses = 2
"""


def scene():
    """Detail at four sizes, as boards, shadows, leaves and sensor noise are."""
    noise = numpy.random.default_rng(1)
    sum_of = numpy.zeros((HEIGHT, WIDTH, 3), numpy.float32)
    for size, strength in ((64, 60), (16, 25), (4, 16), (1, 6)):
        grain = noise.normal(0, strength, (HEIGHT // size + 1, WIDTH // size + 1, 3)).astype(numpy.float32)
        for colour in range(3):
            layer = Image.fromarray(grain[..., colour]).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC)
            sum_of[..., colour] += numpy.asarray(layer)
    return numpy.clip(sum_of + 128, 0, 255).astype(numpy.uint8)


def notes(nth):
    exif = Image.Exif()
    exif[0x0112] = 6 if nth % 7 == 0 else 1
    taken = exif.get_ifd(0x8769)
    taken[0x9003] = f"2026:03:02 {8 + nth // 60 % 10:02}:{nth % 60:02}:00"
    taken[0x9011] = "+13:00"
    place = exif.get_ifd(0x8825)
    place.update({1: "S", 2: (41.0, 17.0, 20.5), 3: "E", 4: (174.0, 46.0, 31.25), 16: "T", 17: float(nth % 360)})
    return exif


def make(folder, count):
    folder.mkdir(parents=True)
    picture = scene()

    def one(nth):
        moved = numpy.roll(picture, (nth * 37 % HEIGHT, nth * 91 % WIDTH), (0, 1))
        Image.fromarray(moved).save(folder / f"IMG_{nth:04}.jpg", quality=91, exif=notes(nth))

    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(one, range(count)))


def timed(command, **more):
    """Seconds of the clock, of the processors, and the peak of memory in MB."""
    before = time.perf_counter()
    run = subprocess.run(["/usr/bin/time", "-v", *map(str, command)], capture_output=True, text=True, **more)
    wall = time.perf_counter() - before
    if run.returncode != 0:
        sys.exit(f"{command[0]} failed:\n{run.stderr[-2000:]}")
    told = lambda what: float(re.search(rf"{what}: ([0-9.]+)", run.stderr).group(1))
    used = told(r"User time \(seconds\)") + told(r"System time \(seconds\)")
    return wall, used, told(r"Maximum resident set size \(kbytes\)") / 1000


def side_by_side(command, files):
    """Two runs at once, over half of the files each."""
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        before = time.perf_counter()
        runs = list(pool.map(lambda half: timed([*command, *half]), (files[::2], files[1::2])))
        wall = time.perf_counter() - before
    return wall, sum(run[1] for run in runs), sum(run[2] for run in runs)


def copied(files, folder):
    """The files copied, hashed and made durable one after the other."""
    before, used = time.perf_counter(), time.process_time()
    for file in files:
        data = file.read_bytes()
        hashlib.sha256(data)
        with open(folder / file.name, "wb") as copy:
            copy.write(data)
            os.fsync(copy.fileno())
    return time.perf_counter() - before, time.process_time() - used, 0.0


def main():
    say = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    say.add_argument("cladlog", type=pathlib.Path)
    say.add_argument("thumbnails", type=pathlib.Path)
    say.add_argument("--count", type=int, default=500)
    say.add_argument("--rounds", type=int, default=3)
    say.add_argument("--folder", type=pathlib.Path, help="where to work; there has to be room for six times the photos")
    say.add_argument("--photos", type=pathlib.Path, help="a folder for the photos, kept and used again")
    given = say.parse_args()
    cladlog, thumbnails = given.cladlog.resolve(), given.thumbnails.resolve()
    root = pathlib.Path(tempfile.mkdtemp(dir=given.folder))
    try:
        photos = (given.photos or root / "photos").resolve()
        if not photos.exists():
            make(photos, given.count)
        return measure(root, cladlog, thumbnails, photos, given.rounds)
    finally:
        shutil.rmtree(root)


def measure(root, cladlog, thumbnails, photos, rounds):
    files = sorted(photos.iterdir())
    # Read once, so that the first to run has them in memory like all others.
    size = sum(len(file.read_bytes()) for file in files)
    print(f"{len(files)} photos, {size / len(files) / 1e6:.2f} MB each, {os.cpu_count()} processors, {rounds} rounds")
    (root / "job.toml").write_text(JOB)
    env = {**os.environ, "CLADLOG_CLOCK": "2026-03-02T19:00:00+13:00"}
    found = {}
    for nth in range(rounds):
        place = root / f"round-{nth}"
        for name in ("vips", "both", "ours", "copies"):
            (place / name).mkdir(parents=True)

        def ours(*args):
            return timed([cladlog, "--db", place / "job.db", *args], env=env, cwd=root)

        # Quality as the suffix of vips has it.
        vips = ["vipsthumbnail", "--size", f"{LONGEST}x{LONGEST}", "-o"]
        runs = [("vipsthumbnail", timed([*vips, f"{place}/vips/%s.jpg[Q={QUALITY}]", *files]))]
        runs.append(("two of it", side_by_side([*vips, f"{place}/both/%s.jpg[Q={QUALITY}]"], files)))
        runs.append(("thumbnails", timed([thumbnails, photos, place / "ours"])))
        ours("job", "add", "job.toml")
        runs.append(("photo add", ours("--by", "Mere Tahana", "photo", "add", *files, "--on", "N")))
        runs.append(("pack", ours("pack", place / "pack", "--interim")))
        runs.append(("copy only", copied(files, place / "copies")))
        for name, run in runs:
            found.setdefault(name, []).append(run)
        wrong = unlike(place, files)
        shutil.rmtree(place)
        if wrong:
            print(wrong)
            return 1
    return report(found)


def unlike(place, files):
    """The first small picture whose pixels are not as many as vips' one."""
    packed = sorted((place / "pack" / "photos" / "small").iterdir())
    if len(packed) != len(files):
        return f"{len(packed)} small pictures in the pack, {len(files)} wanted"
    for file, in_pack in zip(files, packed):
        sizes = [Image.open(path).size for path in (place / "vips" / file.name, place / "ours" / file.name, in_pack)]
        if len(set(sizes)) != 1 or max(sizes[0]) != LONGEST:
            return f"{file.name}: {sizes}"
    return None


def report(found):
    vips = min(run[0] for run in found["vipsthumbnail"])
    print(f"{'':14} {'seconds':>8} {'of vips':>8} {'processor s':>12} {'peak MB':>8}")
    for name, runs in found.items():
        wall, used, peak = min(runs)[0], min(run[1] for run in runs), max(run[2] for run in runs)
        print(f"{name:14} {wall:8.1f} {wall / vips:8.2f} {used:12.1f} {peak:8.0f}")
    slow = min(found["thumbnails"])[0] / vips > MOST_RATIO
    large = any(run[2] > MOST_MB for name in ("thumbnails", "photo add", "pack") for run in found[name])
    print("a bound does not hold" if slow or large else "every bound holds")
    return int(slow or large)


if __name__ == "__main__":
    sys.exit(main())
