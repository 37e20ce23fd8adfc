#!/usr/bin/env python3
"""Twenty phones at one server: how long a page and a record take while all of them ask at once, and how much memory
the server has.

    python3 benches/beside/phones.py PROGRAM DATABASE [CLOCK]

PROGRAM is the binary, DATABASE a record of one job, such as demo.db of `cladlog demo`; it is copied first. CLOCK is the
time that the rehearsal clock stands at, by default 2026-04-01T08:00:00+13:00. Python's standard library alone.
"""

import html
import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse

PHONES = 20
ROUNDS = 50
PAGES = ["/", "/clocks", "/holds", "/cautions"]


class Phone:
    """A browser that keeps its connection and its cookie."""

    def __init__(self, address):
        self.address = address
        self.connection = http.client.HTTPConnection(address, timeout=60)
        self.cookie = ""

    def ask(self, method, path, fields=None):
        head = {"Cookie": self.cookie, "Accept": "text/html"}
        body = None
        if fields is not None:
            head |= {"Origin": f"http://{self.address}", "Content-Type": "application/x-www-form-urlencoded"}
            body = urllib.parse.urlencode(fields)
        began = time.perf_counter()
        self.connection.request(method, path, body, head)
        answer = self.connection.getresponse()
        text = answer.read().decode()
        took = time.perf_counter() - began
        return answer, text, took

    def pair(self, url):
        path = urllib.parse.urlsplit(url).path
        _, page, _ = self.ask("GET", path)
        value = lambda name: html.unescape(re.search(f'name="{name}" value="([^"]*)"', page)[1])
        answer, _, _ = self.ask("POST", path, {name: value(name) for name in ("token", "request_id", "person")})
        assert answer.status == 303, answer.status
        self.cookie = answer.headers["Set-Cookie"].split(";")[0]
        self.token = json.loads(self.ask("GET", "/api/token")[1])["token"]


def ms(times, share):
    return sorted(times)[min(int(len(times) * share), len(times) - 1)] * 1000


def main():
    program, database, *clock = sys.argv[1:]
    folder = tempfile.mkdtemp()
    copy = os.path.join(folder, "job.db")
    shutil.copy(database, copy)
    environment = dict(os.environ, CLADLOG_CLOCK=clock[0] if clock else "2026-04-01T08:00:00+13:00")
    base = [program, "--db", copy, "--clock-is-right", "--json", "serve"]
    server = subprocess.Popen(base + ["--plain"], stdout=subprocess.PIPE, env=environment, text=True)
    try:
        said = json.loads(server.stdout.readline())
        address = urllib.parse.urlsplit(said["url"]).netloc
        phones = []
        for _ in range(PHONES):
            pairing = json.loads(subprocess.check_output(base + ["pair"], env=environment))
            phone = Phone(address)
            phone.pair(pairing["pairing"]["url"])
            phones.append(phone)
        pages, records, lock = [], [], threading.Lock()

        def work(number, phone):
            for round in range(ROUNDS):
                answer, _, page = phone.ask("GET", PAGES[round % len(PAGES)])
                assert answer.status == 200, answer.status
                fields = {"token": phone.token, "request_id": f"{round}", "on": "job", "text": f"{number} {round}"}
                answer, _, record = phone.ask("POST", "/note", fields)
                assert answer.status == 303, answer.status
                with lock:
                    pages.append(page)
                    records.append(record)

        threads = [threading.Thread(target=work, args=each) for each in enumerate(phones)]
        began = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        took = time.perf_counter() - began
        status = open(f"/proc/{server.pid}/status").read()
        memory = int(re.search(r"VmHWM:\s+(\d+) kB", status)[1]) / 1024
        for what, times in ("page", pages), ("record", records):
            print(f"{what:7} {len(times):5}  median {ms(times, 0.5):6.1f} ms  95 % within {ms(times, 0.95):6.1f} ms  "
                  f"longest {max(times) * 1000:6.1f} ms")
        print(f"{(len(pages) + len(records)) / took:.0f} requests a second, at most {memory:.0f} MB")
    finally:
        server.terminate()
        assert server.wait(30) == 0
        shutil.rmtree(folder)


main()
