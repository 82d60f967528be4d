#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""limits.py PROGRAM [TABLE] - tries each limit of docs/limits.md at its edge and one beyond: what
is within is run, what is beyond is refused with status 3 and the limit in words. With TABLE it
prints the rows of the page, with the time and memory that each took here."""
import os
import subprocess
import sys
import tempfile
import time

PROGRAM = os.path.abspath(sys.argv[1])
RING = "loops: [{name: ring, cells: %s, rate: 1}]\n"
MILLION = 10**6


def chests(count):
    return "chests:\n" + "".join(f"- {{name: c{i}}}\n" for i in range(count))


def names(count):
    return "items: [" + ", ".join(f"i{i}" for i in range(count)) + "]\n"


def arm(**keys):
    text = ", ".join(f"{key}: {value}" for key, value in
                     {"name": "a", "from": "bin", "to": "shelf", "swing": 1, **keys}.items())
    return "items: [part]\nchests: [{name: bin}, {name: shelf}]\narms: [{" + text + "}]\n"


def deep(depth):
    """A gate in gates; the section, its list, the arm and its map are four deep already."""
    gate = "{chest: shelf, below: 1}"
    for _ in range((depth - 4) // 2):
        gate = f"{{all: [{gate}]}}"
    return arm(gate=gate)


# What it is, the greatest value that is allowed, in words, the scenario within, and beyond, and
# what is said of it.
LIMITS = [
    ("cells of a loop or line", "1,000,000", RING % MILLION, RING % (MILLION + 1), "1,000,000"),
    ("lanes of a loop", "8",
     "loops: [{name: ring, cells: 9, rate: 1, lanes: [a, b, c, d, e, f, g, h]}]\n",
     "loops: [{name: ring, cells: 9, rate: 1, lanes: [a, b, c, d, e, f, g, h, i]}]\n", "1 to 8"),
    ("rate", "one cell a tick", "loops: [{name: ring, cells: 9, rate: 100}]\n",
     "loops: [{name: ring, cells: 9, rate: 100.001}]\n", "at most one step a tick"),
    ("ticks a second", "1,000,000",
     "clock: {ticks_per_second: 1000000}\nrun: {for: 1}\n" + RING % 9,
     "clock: {ticks_per_second: 1000001}\n", "1,000,000"),
    ("length of a run and of any duration", "2^53 ticks",
     "clock: {ticks_per_second: 1000000}\nrun: {for: 1, warm_up: 9007199254.740992}\n",
     "clock: {ticks_per_second: 1000000}\nrun: {for: 1, warm_up: 9007199254.740993}\n",
     "2^53 ticks"),
    ("parts of one section", "1,000,000", lambda: chests(MILLION),
     lambda: chests(MILLION + 1), "1,000,000"),
    ("kinds of items", "1,000,000", lambda: names(MILLION), lambda: names(MILLION + 1),
     "1,000,000"),
    ("items in a hand", "10,000", arm(hand=10000), arm(hand=10001), "10,000"),
    ("items of a delivery or an order", "1,000,000",
     "items: [part]\nchests: [{name: bin}]\n"
     "supplies: [{name: s, chest: bin, item: part, every: 1, batch: 1000000}]\n",
     "items: [part]\nchests: [{name: bin}]\n"
     "supplies: [{name: s, chest: bin, item: part, every: 1, batch: 1000001}]\n", "1,000,000"),
    ("a count, capacity or threshold", "10^12",
     "chests: [{name: bin, capacity: 1000000000000}]\n",
     "chests: [{name: bin, capacity: 1000000000001}]\n", "1,000,000,000,000"),
    ("letters of a name", "64", f"items: [{'a' * 64}]\n", f"items: [{'a' * 65}]\n", "64"),
    ("lists and maps one in another", "32", deep(32), deep(34), "32"),
    ("a seed", "2^53 - 1", "run: {seed: 9007199254740991}\n", "run: {seed: 9007199254740992}\n",
     "9,007,199,254,740,991"),
    ("bytes of a scenario file", "64 MiB", lambda: "title: x\n#" + "-" * ((64 << 20) - 11) + "\n",
     lambda: "title: x\n#" + "-" * ((64 << 20) - 10) + "\n", "67,108,864"),
]


def run(text):
    """Status, what was complained of, seconds and MB of a run of one second."""
    text = text() if callable(text) else text
    words = [PROGRAM, "run", "-", "--quiet"] + ([] if "run: {for" in text else ["--for", "1"])
    begun = time.monotonic()
    with tempfile.TemporaryFile() as source, tempfile.TemporaryFile() as complaint:
        source.write(text.encode())
        source.seek(0)
        del text  # so that it does not count as the child's memory
        child = subprocess.Popen(words, stdin=source, stderr=complaint)
        _, status, used = os.wait4(child.pid, 0)
        took = time.monotonic() - begun
        complaint.seek(0)
        return os.waitstatus_to_exitcode(status), complaint.read().decode(), took, used.ru_maxrss


def main():
    table = len(sys.argv) > 2
    if table:
        print("| what | most | a run at the limit takes |\n|---|---|---|")
    for what, most, within, beyond, said in LIMITS:
        status, complaint, took, memory = run(within)
        if status not in (0, 1) or ": error:" in complaint:
            sys.exit(f"{what}: within the limit, status {status}: {complaint[:500]}")
        if table:
            megabytes = f"{memory // 1024} MB" if memory > 150 << 10 else "less than 150 MB"
            print(f"| {what} | {most} | {took:.1f} s, {megabytes} |")
        status, complaint, took, memory = run(beyond)
        if status != 3 or said not in complaint:
            sys.exit(f"{what}: beyond the limit, status {status}: {complaint[:500]}")
    print(f"{len(LIMITS)} limits hold at their edges")


main()
