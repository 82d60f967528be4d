#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""tutorial.py PROGRAM PAGE... - follows pages as a reader would: writes the scenarios that begin
with a comment `# NAME.yaml`, runs each line that begins with `$ `, and finds what is shown below
it in what is printed. `...` stands for any lines, or for the rest of a line; after the last line
shown there may be more. Each page has a directory of its own."""
import os
import re
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])


def blocks(page):
    """The commands of a page, each with what is shown below it; scenarios as (name, text)."""
    for block in re.findall(r"```yaml\n(# \S+\.yaml\n.*?)```|((?:^    [^\n]*\n)+)", page,
                            re.M | re.S):
        if block[0]:
            yield block[0].split()[1], block[0]
        elif block[1].startswith("    $ "):
            for part in re.split(r"^    \$ ", block[1], flags=re.M)[1:]:
                command, _, shown = part.partition("\n")
                yield command, [line[4:] for line in shown.splitlines()]


def line_fits(shown, line):
    return line.startswith(shown[:-3]) if shown.endswith("...") else shown == line


def missing(shown, lines):
    """The first line that is shown and not there in its place; None: all are."""
    at, anywhere = 0, False
    for text in shown:
        if text == "...":
            anywhere = True
            continue
        while anywhere and at < len(lines) and not line_fits(text, lines[at]):
            at += 1
        if at == len(lines) or not line_fits(text, lines[at]):
            return text
        at, anywhere = at + 1, False
    return None


def follow(path, place):
    with open(path, encoding="utf-8") as file:
        page = file.read()
    count = 0
    for first, second in blocks(page):
        if isinstance(second, str):
            with open(f"{place}/{first}", "w", encoding="utf-8") as file:
                file.write(second)
            continue
        done = subprocess.run(first, shell=True, cwd=place, text=True, capture_output=True,
                              env={**os.environ, "PATH": place + "/bin:" + os.environ["PATH"]})
        lines = done.stdout.splitlines()
        wrong = missing(second, lines)
        if done.returncode > 1 or wrong is not None:
            sys.exit(f"{path}: $ {first}\nstatus {done.returncode}; not there: {wrong}\n"
                     f"{done.stdout}{done.stderr}")
        count += 1
    return count


def main():
    for path in sys.argv[2:]:
        with tempfile.TemporaryDirectory() as place:
            os.mkdir(place + "/bin")
            os.symlink(PROGRAM, place + "/bin/loopwright")
            os.symlink(os.path.abspath("scenarios"), place + "/scenarios")
            print(f"{path}: {follow(path, place)} commands print what it shows")


main()
