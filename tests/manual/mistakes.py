#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""mistakes.py PROGRAM [--write] - makes the mistakes that mistakes.txt lists and compares what the
program says, to the letter, and its status. With --write it writes the file anew, for what was
changed on purpose. What is said of a mistake has at most twelve lines, none of which is an
assertion or a crash."""
import os
import re
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
PAGE = os.path.abspath("tests/manual/mistakes.txt")
RING = """\
items: [comb, spring, box]
loops: [{name: ring, cells: 60, rate: 4, lanes: [outer, inner]}]
lines: [{name: ramp, cells: 10, rate: 2}]
chests: [{name: bin, start: {comb: 9, spring: 9}}, {name: shelf, capacity: 5}]
stations: [{name: bench, takes: {comb: 1, spring: 1}, makes: {box: 1}, time: 4 s}]
arms:
- {name: feeder, from: bin, to: ring/outer@5, items: [comb, spring], swing: 2 s}
- {name: taker, from: ring/outer@40, to: bench, swing: 1 s}
- {name: shelver, from: bench, to: shelf, swing: 1 s}
demands: [{name: orders, chest: shelf, item: box, every: 9 s}]
"""


def prepare(place):
    with open(place + "/ring.yaml", "w", encoding="utf-8") as file:
        file.write(RING)
    subprocess.run([PROGRAM, "run", "ring.yaml", "--for", "1min", "--quiet", "--out", "done"],
                   cwd=place, check=False)
    os.mkdir(place + "/mine")
    for path, text in {"mine/notes.txt": "mine", "tab.yaml": "items:\n\t- comb\n", "empty.yaml": "",
                       "open.yaml": "items: [comb\n", "list.yaml": "- comb\n"}.items():
        with open(f"{place}/{path}", "w", encoding="utf-8") as file:
            file.write(text)


def made(line, place):
    """What a line says and its status, as the page has it."""
    done = subprocess.run(f'"{PROGRAM}" {line}', shell=True, cwd=place, text=True,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False)
    lines = done.stdout.splitlines()
    if done.returncode not in (2, 3, 4) or not lines or len(lines) > 12:
        sys.exit(f"{line}: status {done.returncode}, {len(lines)} lines\n{done.stdout}")
    return f"$ loopwright {line}\n{done.stdout}status {done.returncode}\n"


def main():
    with open(PAGE, encoding="utf-8") as file:
        page = file.read()
    lines = re.findall(r"^\$ loopwright (.*)$", page, re.M)
    with tempfile.TemporaryDirectory() as place:
        prepare(place)
        found = "\n".join(made(line, place) for line in lines)
    if "--write" in sys.argv:
        with open(PAGE, "w", encoding="utf-8") as file:
            file.write(found)
    elif found != page:
        for wanted, got in zip(page.split("\n\n$"), found.split("\n\n$")):
            if wanted != got:
                sys.exit(f"known:\n{wanted}\nfound:\n{got}")
        sys.exit("mistakes.txt is not laid out as --write does")
    print(f"{len(lines)} mistakes are answered as they are known")


main()
