#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""mutate.py COUNT SEED [FILE...] - breaks the program in COUNT places of sim/ and model/, one at a
time, and asks the quick tests to find each.

A place is an operator, a bound, a condition, a constant or a whole statement inside a function; a
seed draws the same places from the same tree. `require` is left alone: a check that is taken away
changes nothing in a program that is right. Each broken file is compiled alone, and linked into the
one shared library that all test programs use. The tests of its room come first, and the first that
fails, crashes, or takes too much processor time ends the search. A mutant that none of them finds
is built again with the address and undefined-behaviour sanitizers, as `make check` builds
everything.

All happens in a copy of the tree, build/mutation. What survives is in build/mutation/report, with
its place; docs/mutation.md says of each survivor of COUNT=300 SEED=1 why it may."""
import os
import random
import re
import resource
import shutil
import subprocess
import sys

WORK = "build/mutation"
FLAGS = ["-std=c17", "-w", "-g1", "-ffp-contract=off", "-pthread", "-fPIC", "-I.",
         "-D_POSIX_C_SOURCE=200809L"]
BUILDS = {"plain": ["-O1"],
          "sanitized": ["-O1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all"]}
CPU_SECONDS_MAX = 120  # the slowest of the tests below takes a third of it
# Tests of one module, cheap ones first; `compare` runs both engines on random scenarios.
UNITS = """fault suggest messages layout budget diagnostics literal line lane belt_clock agenda
    shortage waits quantity lane_profile world_audit estimate recovery long record sealed_file
    capsule random identities fill certificate state read""".split()
STORIES = "trade outlets budget drain scenarios run short".split()
ROOMS = {
    "sim": "fault agenda estimate belt_clock sealed_file random state",
    "model/scenario": "quantity layout suggest messages read",
    "model/reader": "suggest messages quantity read",
    "model/engine": "literal line lane belt_clock world_audit waits long",
    "model/state": "capsule record world_audit state",
    "model/budget": "budget certificate",
    "model/cause": "waits shortage",
}


# ---- places to break ----

def masked(text):
    """The text with comments, strings and character constants blanked out, of the same length."""
    pattern = re.compile(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])+\'', re.S)
    return pattern.sub(lambda m: re.sub(r"[^\n]", " ", m.group()), text)


SWAPS = [(r" <= ", [" < "]), (r" >= ", [" > "]), (r" < ", [" <= "]), (r" > ", [" >= "]),
         (r" == ", [" != "]), (r" != ", [" == "]), (r" && ", [" || "]), (r" \|\| ", [" && "]),
         (r" \+ ", [" - "]), (r" - ", [" + "]), (r" \* ", [" + "]), (r" / ", [" * "]),
         (r" \+= ", [" -= "]), (r" -= ", [" += "]), (r"(?<=\w)\+\+(?=;)", ["--"]),
         (r"(?<=\w)--(?=;)", ["++"]), (r"\btrue\b", ["false"]), (r"\bfalse\b", ["true"]),
         (r"(?<![\w.])0(?![\w.])", ["1"]), (r"(?<![\w.])1(?![\w.])", ["0", "2"])]
STATEMENT = re.compile(r"^ +(?!return|goto|break|continue|case|default|else|if|for|while|do\b|switch)"
                       r"(?:[\w>.\[\]-]+(?: [-+*/|&^]?= |\+\+|--)[^;{}]*|[\w>.-]+\([^;{}]*\));$")
DECLARES = re.compile(r"^ +(?:const |struct |enum |static |unsigned |bool |char |double |int\w* |"
                      r"uint\w* |size_t |void |wide |FILE |json_t )")


def function_lines(lines):
    """Numbers of the lines inside functions."""
    inside, found = False, []
    for number, line in enumerate(lines):
        if inside and line.startswith("}"):
            inside = False
        elif inside:
            found.append(number)
        elif line.endswith(") {") and not line.startswith((" ", "#")):
            inside = True
        elif line.endswith(") {") and line.startswith(" ") and "=" not in line:
            inside = True  # the last line of a long head
    return found


def places_of(path):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    lines, shown = masked(text).split("\n"), text.split("\n")
    places = []
    for number in function_lines(lines):
        line = lines[number]
        if "require(" in line or line.lstrip().startswith("#") or line.endswith("\\"):
            continue
        for pattern, others in SWAPS:
            for match in re.finditer(pattern, line):
                for other in others:
                    broken = shown[number][:match.start()] + other + shown[number][match.end():]
                    places.append((path, number, broken))
        condition = re.match(r"^( +(?:\} else )?(?:if|while) )\((.*)\)( \{|;)?$", line)
        if condition:
            start, end = condition.span(2)
            broken = shown[number][:start] + "!(" + shown[number][start:end] + ")" + \
                shown[number][end:]
            places.append((path, number, broken))
        if STATEMENT.match(line) and not DECLARES.match(line):
            places.append((path, number, re.match(" +", line).group() + ";"))
    return places


# ---- building ----

def run(command, **more):
    return subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False,
                          **more).returncode


def compile_one(source, build):
    target = f"{build}/{source[:-2]}.o"
    os.makedirs(os.path.dirname(target), exist_ok=True)
    return run(["cc", *FLAGS, *BUILDS[build], "-c", source, "-o", target]) == 0


LISTED = subprocess.run(["git", "ls-files"], stdout=subprocess.PIPE, text=True,
                        check=True).stdout.split("\n")[:-1]


def sources(*beginnings):
    return [path for path in LISTED if path.startswith(beginnings) and path.endswith(".c")]


def objects(build, paths):
    return [f"{build}/{path[:-2]}.o" for path in paths]


LIBRARIES = ["-lgsl", "-lgslcblas", "-lyaml", "-ljansson", "-lglpk", "-lm"]


def link_library(build, parts):
    return run(["cc", *BUILDS[build], "-shared", "-pthread", *objects(build, parts), *LIBRARIES,
                "-o", f"{build}/libparts.so"]) == 0


def link_program(build, name, paths):
    here = os.path.abspath(build)
    check = subprocess.run(["pkg-config", "--libs", "check"], stdout=subprocess.PIPE, text=True,
                           check=True).stdout.split()
    return run(["cc", *BUILDS[build], "-pthread", *objects(build, paths), f"-L{here}", "-lparts",
                f"-Wl,-rpath,{here}", *LIBRARIES, *check, "-o", f"{build}/{name}"]) == 0


def build_all(build):
    """Builds the program, `compare` and all tests once; returns the sources of the library."""
    every = sources("sim/", "model/", "tools/")
    parts = [path for path in every if path != "tools/loopwright.c"]
    common = sources("tests/common/")
    exact = [path for path in sources("tests/exact/") if path != "tests/exact/compare.c"]
    unit = [path for path in sources("tests/unit/") if "/test_" not in path]
    story = [path for path in sources("tests/story/") if "/test_" not in path]
    tests = [f"tests/unit/test_{name}.c" for name in UNITS]
    stories = [f"tests/story/test_{name}.c" for name in STORIES + ["cause"]]
    ring = ["tests/bench/ring.c"]
    for path in every + common + exact + unit + story + tests + stories + ring + \
            ["tests/exact/compare.c"]:
        if not compile_one(path, build):
            sys.exit(f"mutate: {path} does not compile")
    good = link_library(build, parts) and \
        link_program(build, "loopwright", ["tools/loopwright.c"]) and \
        link_program(build, "compare", ["tests/exact/compare.c"] + exact + common)
    for path in tests:
        good = good and link_program(build, os.path.basename(path)[:-2],
                                     [path] + unit + exact + common + ring)
    for path in stories:
        good = good and link_program(build, "story_" + os.path.basename(path)[5:-2],
                                     [path] + story + common)
    if not good:
        sys.exit("mutate: the tests cannot be linked")
    return parts


# ---- testing ----

def tests_for(build, path):
    """Command lines, the likeliest to find a fault in this file first."""
    room = os.path.dirname(path)
    own = ROOMS[room].split()
    stem = os.path.basename(path)[:-2]
    own.sort(key=lambda name: name != stem)  # a test of this very file
    compare = [["compare", "--random", "300", "--seed", "1", "--chance-every", "4"]]
    units = [["test_" + name] for name in own]
    rest = [["test_" + name] for name in UNITS if name not in own]
    stories = [["story_" + name] for name in STORIES]
    if build == "sanitized":  # stories take too long
        return compare + units + rest
    if room in ("model/budget", "model/cause"):
        first = ["budget", "drain"] if room == "model/budget" else ["short", "drain", "cause"]
        stories = [["story_" + name] for name in first]
        return units + stories + [["test_identities"], ["story_scenarios"]]
    if room in ("model/engine", "model/state", "sim"):
        return compare + units + rest + stories
    return units + compare + rest + stories


def limits():
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS_MAX, CPU_SECONDS_MAX))
    resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 30, 1 << 30))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def fails(build, command):
    environment = dict(os.environ, LOOPWRIGHT=f"{build}/loopwright", CK_FORK="yes",
                       ASAN_OPTIONS="hard_rss_limit_mb=4000:detect_leaks=0")
    try:
        return run([f"{build}/{command[0]}", *command[1:]], env=environment, preexec_fn=limits,
                   timeout=1800) != 0
    except subprocess.TimeoutExpired:
        return True


def found_by(build, path):
    """The name of the first test that finds the mutant; None: none does."""
    for command in tests_for(build, path):
        if fails(build, command):
            return command[0] + ("" if build == "plain" else ", sanitized")
    return None


# ---- mutants ----

def judge(place, parts):
    """Builds a mutant, and says how it fared: how it was found, `survives`, or None when it is none
    (does not compile, or gives the same code)."""
    path, number, broken = place
    with open(path, encoding="utf-8") as file:
        text = file.read()
    lines = text.split("\n")
    lines[number] = broken
    fate = None
    for build in BUILDS:
        if not os.path.exists(f"{build}/libparts.so"):
            build_all(build)
        whole, good = f"{build}/{path[:-2]}.o", f"{build}/good.o"
        shutil.copy2(whole, good)
        write(path, "\n".join(lines))
        compiled = compile_one(path, build)
        same = build == "plain" and compiled and same_code(whole, good)
        if compiled and not same and link_library(build, parts):
            fate = found_by(build, path) or "survives"
        write(path, text)
        os.replace(good, whole)
        if fate != "survives":
            break
    return fate


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def same_code(one, other):
    def code(path):
        subprocess.run(["objcopy", "--only-section=.text*", "--only-section=.rodata*", "-O", "binary",
                        path, path + ".code"], check=False)
        with open(path + ".code", "rb") as file:
            return file.read()
    return code(one) == code(other)


def copy_tree():
    for path in LISTED:
        target = os.path.join(WORK, path)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        shutil.copy2(path, target)
    os.makedirs(f"{WORK}/build")  # where the stories work


def check_the_unbroken():
    commands = {tuple(command) for room in ROOMS for command in tests_for("plain", room + "/")}
    for command in sorted(commands - {("story_cause",)}):  # which alone takes as long as all others
        if fails("plain", list(command)):
            sys.exit(f"mutate: {command[0]} fails already on the tree as it is")


def main():
    count, seed, only = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
    shutil.rmtree(WORK, ignore_errors=True)
    copy_tree()
    wanted = only or [path for path in sources("sim/", "model/")]
    parts = None
    os.chdir(WORK)
    parts = build_all("plain")
    check_the_unbroken()
    places = sorted(place for path in wanted for place in places_of(path))
    random.Random(seed).shuffle(places)
    made = caught = 0
    with open("report", "w", encoding="utf-8") as report:
        for place in places:
            if made == count:
                break
            fate = judge(place, parts)
            if fate is None:
                continue
            made += 1
            caught += fate != "survives"
            with open(place[0], encoding="utf-8") as file:
                was = file.read().split("\n")[place[1]]
            line = f"{place[0]}:{place[1] + 1}: {fate}\n    - {was.strip()}\n" \
                f"    + {place[2].strip()}\n"
            report.write(line)
            report.flush()
            if fate == "survives":
                print(line, end="", flush=True)
    print(f"{made} mutants, {caught} caught ({100 * caught / max(made, 1):.1f} %); "
          f"all of them: {WORK}/report")
    return 0 if 100 * caught >= 95 * made else 1


if __name__ == "__main__":
    sys.exit(main())
