#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""waves.py PROGRAM - holds the Value Change Dump of a run against the tables of the same run, and
has it read and written again by the tools of GTKWave, which must find the same changes in it.
Status 77: those are not installed; the rest was held all the same."""
import csv
import os
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
SCENARIOS = ["scenarios/first.yaml", "scenarios/two-loops.yaml", "tests/manual/every-key.yaml"]
UNITS = {"s": 1, "ms": 10**3, "us": 10**6, "ns": 10**9}


def fail(what):
    sys.exit(f"waves.py: {what}")


def loopwright(*words):
    """Status 1: it does not hold, which is no matter here."""
    done = subprocess.run([PROGRAM, *words], capture_output=True, text=True)
    if done.returncode > 1:
        fail(f"{words}: {done.stderr}")
    return done.stdout


def section(words):
    """The words up to $end."""
    found = []
    for word in words:
        if word == "$end":
            return found
        found.append(word)
    fail("a section has no end")


class Dump:
    """A dump as IEEE 1364 describes it: names by code, and (time, name, value) in order."""

    def __init__(self, path):
        words = iter(open(path, encoding="utf-8").read().split())
        self.scope, self.name, self.bits, self.changes, self.times = [], {}, {}, [], []
        for word in words:
            self.take(word, words)

    def take(self, word, words):
        if word == "$scope":
            self.scope.append(section(words)[1])
        elif word == "$upscope":
            section(words)
            self.scope.pop()
        elif word == "$timescale":
            text = "".join(section(words))
            unit = text.lstrip("0123456789")
            self.per_second = UNITS[unit] // int(text[: -len(unit)])
        elif word == "$var":
            _, bits, code, *name = section(words)
            self.name.setdefault(code, []).append(".".join([*self.scope, name[0]]))
            self.bits[code] = int(bits)
        elif word in ("$comment", "$date", "$version", "$enddefinitions"):
            section(words)
        elif word[0] == "#":
            self.times.append(int(word[1:]))
        elif word[0] == "b":
            self.change(next(words), word[1:])
        elif word[0] in "01":
            self.change(word[1:], word[0])
        elif word not in ("$dumpvars", "$end"):
            fail(f"`{word}` is not understood")

    def change(self, code, digits):
        if len(digits) > self.bits[code]:
            fail(f"{digits} has more bits than {self.bits[code]}")
        for name in self.name[code]:
            self.changes.append((self.times[-1], name, int(digits, 2)))


def check_times(dump):
    if dump.times[0] != 0 or any(a >= b for a, b in zip(dump.times, dump.times[1:])):
        fail("an instant stands twice, or time goes back")


def rows(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def check_tables(dump, out):
    """Each row of a sample says what the dump says of that time; levels.csv has rows of changes."""
    samples = [(float(row["time_s"]), f"levels.{row['place']}/{row['item']}", int(row["count"]))
               for row in rows(f"{out}/levels.csv")]
    samples += [(float(row["time_s"]), f"lanes.{row['loop']}/{row['lane']}".rstrip("/"),
                 int(row["count"])) for row in rows(f"{out}/lanes.csv")]
    samples.sort(key=lambda sample: sample[0])
    value, at = {}, 0
    for time, name, count in samples:
        while at < len(dump.changes) and dump.changes[at][0] <= time * dump.per_second + 0.01:
            value[dump.changes[at][1]] = dump.changes[at][2]
            at += 1
        if value[name] != count:
            fail(f"{name} is {value[name]} at {time} s, and {count} in the table")
    return len(samples)


def changes_alone(dump):
    """Values that differ from the one before, in an order that readers keep or not."""
    last, found = {}, []
    for time, name, value in dump.changes:
        if last.get(name) != value:
            found.append((time, name, value))
        last[name] = value
    return sorted(found)


def check_reader(path, dump):
    subprocess.run(["vcd2fst", path, path + ".fst"], check=True, capture_output=True)
    with open(path + ".again", "w", encoding="utf-8") as again:
        subprocess.run(["fst2vcd", path + ".fst"], check=True, stdout=again)
    if changes_alone(Dump(path + ".again")) != changes_alone(dump):
        fail(f"{path}: GTKWave's tools find other changes")


def check(scenario, place, has_reader):
    out, path = f"{place}/run", f"{place}/run.vcd"
    words = ["run", scenario, "--for", "20min", "--quiet"]
    loopwright(*words, "--out", out, "--vcd", path)
    loopwright(*words, "--vcd", path + ".2")
    if open(path, "rb").read() != open(path + ".2", "rb").read():
        fail(f"{scenario}: two dumps of the same run differ")
    printed = loopwright(*words[:-1], "--vcd", "-")
    if printed != open(path, encoding="utf-8").read():
        fail(f"{scenario}: what is printed is not the dump alone")
    dump = Dump(path)
    check_times(dump)
    compared = check_tables(dump, out)
    if has_reader:
        check_reader(path, dump)
    return compared


def main():
    has_reader = shutil.which("vcd2fst") is not None and shutil.which("fst2vcd") is not None
    compared = 0
    for scenario in SCENARIOS:
        with tempfile.TemporaryDirectory() as place:
            compared += check(scenario, place, has_reader)
    print(f"{compared} values of tables are those of the dumps")
    if not has_reader:
        print("vcd2fst and fst2vcd of GTKWave are not installed")
        sys.exit(77)


main()
