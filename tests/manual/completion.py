#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""completion.py PROGRAM - types command lines into bash and zsh on a terminal of their own,
presses the tabulator key, and looks at what the shell makes of them. A shell that is not installed
is passed over; without both, status 77."""
import os
import pty
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time

PROGRAM = os.path.abspath(sys.argv[1])
WAIT_S = 10
SCENARIO = """\
items: [comb]
loops: [{name: ring, cells: 60, rate: 4}]
chests: [{name: bin, start: {comb: 5}}, {name: shelf}]
arms:
- {name: feeder, from: bin, to: ring@0, swing: 2}
- {name: taker, from: ring@30, to: shelf, swing: 2}
"""
# What is typed, and what must stand in the line, or be listed, after the tabulator key.
LINES = [
    ("loopwright bud\t", ["loopwright budget "]),
    ("loopwright \t\t", ["budget", "cause", "completion", "drain", "soak", "schema"]),
    ("loopwright run --ke\t", ["--keep-every"]),
    ("loopwright run --\t\t", ["--audit", "--moves", "--json", "--set"]),
    ("loopwright drain --flood\t\t", ["--flood-until-it-fails"]),
    ("loopwright run my-ri\t", ["loopwright run my-ring.yaml"]),
    ("loopwright cause my-ru\t", ["loopwright cause my-run"]),
    ("loopwright run my-ring.yaml --set arms.feeder.ch\t\t\t", ["choose=", "in_turn", "random"]),
    ("loopwright run my-ring.yaml --set chests.sh\t", ["chests.shelf."]),
    ("loopwright run my-ring.yaml --set loops.ring.c\t", ["loops.ring.cells="]),
    ("loopwright replay my-run --set chests.sh\t", ["chests.shelf."]),
    ("loopwright run my-ring.yaml --out my-\t", ["--out my-run"]),
    ("loopwright completion z\t", ["loopwright completion zsh"]),
]


class Terminal:
    def __init__(self, words, place, environment):
        self.process, self.descriptor = pty.fork()
        if self.process == 0:
            os.chdir(place)
            os.execvpe(words[0], words, {**os.environ, "TERM": "dumb", "COLUMNS": "200",
                                         "LINES": "200", **environment})
        self.shown = ""

    def read_until(self, *wanted):
        """Reads until all that is wanted was shown; what was shown."""
        begun = time.monotonic()
        while not all(text in self.shown for text in wanted):
            if time.monotonic() - begun > WAIT_S:
                return None
            if select.select([self.descriptor], [], [], 0.5)[0]:
                self.shown += re.sub("\x1b\\[[0-9;?]*[a-zA-Z]|\a|\r", "",
                                     os.read(self.descriptor, 65536).decode(errors="replace"))
        shown, self.shown = self.shown, ""
        return shown

    def type(self, keys):
        os.write(self.descriptor, keys.encode())

    def end(self):
        os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)


def try_shell(name, words, begin, place):
    terminal = Terminal(words, place, {"PATH": place + "/bin:" + os.environ["PATH"]})
    terminal.type(begin + "; echo rea''dy\n")
    if terminal.read_until("ready") is None:
        sys.exit(f"{name} does not start: {terminal.shown}")
    for line, wanted in LINES:
        terminal.type(line)
        if terminal.read_until(*wanted) is None:
            sys.exit(f"{name}: {line!r} gives {terminal.shown!r}, not {wanted}")
        terminal.type("\x15echo do''ne\n")  # rubs the line out
        if terminal.read_until("done\n") is None:
            sys.exit(f"{name}: no prompt after {line!r}: {terminal.shown!r}")
    terminal.end()
    return name


def main():
    tried = []
    with tempfile.TemporaryDirectory() as place:
        os.mkdir(place + "/bin")
        os.symlink(PROGRAM, place + "/bin/loopwright")
        with open(place + "/my-ring.yaml", "w", encoding="utf-8") as file:
            file.write(SCENARIO)
        subprocess.run([PROGRAM, "run", "my-ring.yaml", "--for", "1", "--quiet", "--out", "my-run"],
                       cwd=place, check=True)
        for shell in ["bash", "zsh"]:
            with open(f"{place}/_loopwright.{shell}", "w", encoding="utf-8") as file:
                subprocess.run([PROGRAM, "completion", shell], stdout=file, check=True)
        if shutil.which("bash"):
            tried.append(try_shell("bash", ["bash", "--norc", "--noprofile", "-i"],
                                   "bind 'set bell-style none' 'set page-completions off' "
                                   "'set enable-bracketed-paste off'; PS1='$ '; "
                                   "source ./_loopwright.bash", place))
        if shutil.which("zsh"):
            os.mkdir(place + "/functions")
            os.rename(place + "/_loopwright.zsh", place + "/functions/_loopwright")
            tried.append(try_shell("zsh", ["zsh", "-f", "-i"],
                                   "unsetopt zle_bracketed_paste prompt_cr beep; PS1='$ '; "
                                   "fpath=($PWD/functions $fpath); autoload -U compinit; "
                                   "compinit -u -d $PWD/dump; bindkey -e", place))
    if not tried:
        print("neither bash nor zsh on this machine")
        sys.exit(77)
    print(f"{len(LINES)} lines are completed by {' and '.join(tried)}")


main()
