#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""terminal.py PROGRAM - runs commands on a terminal of 60 columns, on a dumb one, with NO_COLOR,
and with their output in a pipe: colour and lines drawn anew are where they should be and nowhere
else, and on all of them the same words are printed."""
import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import tempfile
import termios

PROGRAM = os.path.abspath(sys.argv[1])
SCENARIO = os.path.abspath("scenarios/demo.yaml")
LINES = [["run", SCENARIO], ["budget", SCENARIO], ["drain", SCENARIO, "--runs", "30"],
         ["soak", SCENARIO, "--runs", "20"], ["help"], ["help", "soak"], ["run", "nowhere.yaml"]]
ESCAPE = "\x1b["
NARROW = 60


def on_terminal(words, place, columns=80, **variables):
    """All that a command prints to a terminal of its own."""
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    process, descriptor = pty.fork()
    if process == 0:
        fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        os.chdir(place)
        os.execve(PROGRAM, [PROGRAM, *words], {**environment, **variables})
    shown = b""
    while True:
        try:
            more = os.read(descriptor, 65536)
        except OSError:
            more = b""
        if not more:
            break
        shown += more
    os.waitpid(process, 0)
    return shown.decode().replace("\r\n", "\n")


def plain(shown):
    """What is left on the screen: lines that are drawn anew are erased, colours do not count."""
    shown = re.sub(r"\r[^\r\n]*\x1b\[K", "", shown)
    return re.sub(r"\x1b\[[0-9;]*m", "", shown).replace("\r", "")


def check(holds, what):
    if not holds:
        sys.exit(what)


def main():
    with tempfile.TemporaryDirectory() as place:
        coloured = 0
        for words in LINES:
            name = " ".join(words[:1])
            piped = subprocess.run([PROGRAM, *words], cwd=place, text=True, stdout=subprocess.PIPE,
                                   stderr=subprocess.STDOUT).stdout
            check(ESCAPE not in piped and "\r" not in piped, f"{name}: control in a pipe")
            check(all(line == line.rstrip() for line in piped.splitlines()),
                  f"{name}: blanks at the end of a line")
            terminal = on_terminal(words, place, TERM="xterm")
            coloured += ESCAPE + "1" in terminal
            check(plain(terminal) == piped, f"{name}: other words on a terminal:\n{terminal!r}")
            without = on_terminal(words, place, TERM="xterm", NO_COLOR="1")
            check(re.search(r"\x1b\[[0-9;]*m", without) is None, f"{name}: NO_COLOR is coloured")
            dumb = on_terminal(words, place, TERM="dumb")
            check(dumb == piped, f"{name}: a dumb terminal gets {dumb!r}")
            narrow = on_terminal(words, place, columns=NARROW, TERM="dumb")
            check(narrow.split() == piped.split(), f"{name}: other words on a narrow terminal")
            check(all(len(line) <= NARROW or " " not in line.strip()
                      for line in narrow.splitlines()), f"{name}: too wide:\n{narrow}")
        check(coloured > 0, "nothing is coloured on a terminal")
    print(f"{len(LINES)} commands: {coloured} are coloured on a terminal, none elsewhere; all "
          f"print the same words")


main()
