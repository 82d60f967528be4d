#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""mutate.py COUNT SEED [FILE...] - breaks the program in COUNT places of sim/ and model/, one at a
time, and asks the quick tests to find each.

A place is an operator, a bound, a condition, a constant or a whole statement inside a function; a
seed draws the same places from the same tree. `require` is left alone: a check that is taken away
changes nothing in a program that is right. Each broken file is compiled alone, and linked into the
one shared library that all test programs use. The tests of its room come first, and the first that
fails, crashes, or takes too much processor time ends the search. A mutant that none of them finds
is tried with a few of them once more under valgrind, because it may read what is not its own.

All happens in a copy of the tree, build/mutation. What survives is in build/mutation/report, with
its place; docs/mutation.md says of each survivor of COUNT=300 SEED=1 why it may."""
import os
import random
import re
import resource
import shutil
import subprocess
import sys

WORK, BUILD = "build/mutation", "plain"
FLAGS = ["-std=c17", "-O1", "-w", "-g1", "-ffp-contract=off", "-pthread", "-fPIC", "-I.",
         "-D_POSIX_C_SOURCE=200809L"]
CPU_SECONDS_MAX = 40  # of one process; the slowest of the tests below takes a third of it
# What finds a fault in a room, cheap ones first. `unit_NAME` and `story_NAME` are the programs of
# tests/unit and tests/story, with `:CASE` one case of them; `compare` runs both engines on random
# scenarios.
COMPARE = ["compare", "--random", "300", "--seed", "1", "--chance-every", "4"]
COMPARE_MORE = ["compare", "--random", "1500", "--seed", "1001", "--chance-every", "4"]
COMPARE_FEW = ["compare", "--random", "40", "--seed", "1", "--chance-every", "4"]
VALGRIND = ["valgrind", "-q", "--error-exitcode=99", "--leak-check=full",
            "--show-leak-kinds=definite", "--errors-for-leak-kinds=definite"]
READ = "unit_messages unit_suggest unit_read:contents unit_read:texts_and_overrides unit_quantity"
ROOMS = {
    "sim": "compare unit_fault unit_agenda unit_estimate unit_belt_clock unit_sealed_file "
           "unit_random story_run unit_state",
    "model/scenario": "unit_layout " + READ + " compare story_budget story_run unit_read:sizes",
    "model/reader": READ + " compare story_run unit_read:sizes",
    "model/engine": "compare unit_literal unit_line unit_lane unit_observe unit_world_audit "
                    "unit_waits compare_more unit_record unit_belt_clock unit_long "
                    "unit_identities unit_fill story_scenarios",
    "model/state": "unit_world_audit unit_record unit_capsule unit_state",
    "model/budget": "unit_budget unit_rules story_budget story_drain unit_certificate "
                    "story_scenarios",
    "model/cause": "unit_waits unit_shortage story_drain story_short story_cause",
}
WITH_VALGRIND = {"model/reader": "unit_messages", "model/scenario": "unit_messages compare_few",
                 "model/budget": "unit_budget", "model/cause": "unit_waits unit_shortage"}


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
         (r"(?<![\w.])0(?![\w.])", ["1"]), (r"(?<![\w.-])1(?![\w.])", ["0", "2"])]
STATEMENT = re.compile(r"^ +(?!return|goto|break|continue|case|default|else|if|for|while|do\b|"
                       r"switch)"
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
    return subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          check=False, **more).returncode


def compile_one(source):
    target = f"{BUILD}/{source[:-2]}.o"
    os.makedirs(os.path.dirname(target), exist_ok=True)
    return run(["cc", *FLAGS, "-c", source, "-o", target]) == 0


LISTED = subprocess.run(["git", "ls-files"], stdout=subprocess.PIPE, text=True,
                        check=True).stdout.split("\n")[:-1]


def sources(*beginnings):
    return [path for path in LISTED if path.startswith(beginnings) and path.endswith(".c")]


def objects(paths):
    return [f"{BUILD}/{path[:-2]}.o" for path in paths]


# What the Makefile generates, made here without content: no test below needs it.
GENERATED = {
    "tools/page/assets_data.c": '#include "tools/page/assets.h"\n'
                                "const struct assets_file assets_data[1] = {{0}};\n",
    "tools/new/kinds.c": '#include "tools/new/kinds.h"\n'
                         "const struct kind kinds_table[1] = {{0}};\n"
                         "const unsigned kinds_count = 0;\n",
}
LIBRARIES = ["-lgsl", "-lgslcblas", "-lyaml", "-ljansson", "-lz", "-lglpk", "-lm"]


def link_library(parts):
    return run(["cc", "-shared", "-pthread", *objects(parts), *LIBRARIES,
                "-o", f"{BUILD}/libparts.so"]) == 0


def link_program(name, paths):
    here = os.path.abspath(BUILD)
    check = subprocess.run(["pkg-config", "--libs", "check"], stdout=subprocess.PIPE, text=True,
                           check=True).stdout.split()
    return run(["cc", "-pthread", *objects(paths), f"-L{here}", "-lparts",
                f"-Wl,-rpath,{here}", *LIBRARIES, *check, "-o", f"{BUILD}/{name}"]) == 0


def build_all():
    """Builds the program, `compare` and all tests once; returns the sources of the library."""
    every = sources("sim/", "model/", "tools/") + list(GENERATED)
    parts = [path for path in every if path != "tools/loopwright.c"]
    common = sources("tests/common/")
    exact = [path for path in sources("tests/exact/") if path != "tests/exact/compare.c"]
    unit = [path for path in sources("tests/unit/") if "/test_" not in path]
    story = [path for path in sources("tests/story/") if "/test_" not in path]
    ring = ["tests/bench/ring.c"]
    tests = sorted({name.split(":")[0] for names in ROOMS.values() for name in names.split()
                    if "_" in name and name != "compare_more"})
    tests = [(name, f"tests/{name.replace('_', '/test_', 1)}.c") for name in tests]
    for path in every + common + exact + unit + story + [path for _, path in tests] + ring + \
            ["tests/exact/compare.c"]:
        if not compile_one(path):
            sys.exit(f"mutate: {path} does not compile")
    good = link_library(parts) and \
        link_program("loopwright", ["tools/loopwright.c"]) and \
        link_program("compare", ["tests/exact/compare.c"] + exact + common)
    for name, path in tests:
        shared = story if name.startswith("story") else unit + exact + ring
        good = good and link_program(name, [path] + shared + common)
    if not good:
        sys.exit("mutate: the tests cannot be linked")
    return parts


# ---- testing ----

def tests_for(path):
    """Names of tests, the likeliest to find a fault in this file first."""
    names = ROOMS[os.path.dirname(path)].split()
    names.sort(key=lambda name: name != "unit_" + os.path.basename(path)[:-2])
    return names


def limits():
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS_MAX, CPU_SECONDS_MAX))
    resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 30, 1 << 30))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def fails(name, before=()):
    environment = dict(os.environ, LOOPWRIGHT=f"{BUILD}/loopwright")
    program, _, case = name.partition(":")
    if case:
        environment["CK_RUN_CASE"] = case.replace("_", " ")
    command = {"compare": COMPARE, "compare_more": COMPARE_MORE,
               "compare_few": COMPARE_FEW}.get(name, [program])
    try:
        return run([*before, f"{BUILD}/{command[0]}", *command[1:]], env=environment,
                   preexec_fn=limits, timeout=1800) != 0
    except subprocess.TimeoutExpired:
        return True


def found_by(path):
    """The name of the first test that finds the mutant; None: none does."""
    for name in tests_for(path):
        if fails(name):
            return name
    for name in WITH_VALGRIND.get(os.path.dirname(path), "compare_few").split():
        if fails(name, VALGRIND):
            return name + " with valgrind"
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
    whole, good = f"{BUILD}/{path[:-2]}.o", f"{BUILD}/good.o"
    shutil.copy2(whole, good)
    write(path, "\n".join(lines))
    if compile_one(path) and not same_code(whole, good) and link_library(parts):
        fate = found_by(path) or "survives"
    write(path, text)
    os.replace(good, whole)
    return fate


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def same_code(one, other):
    def code(path):
        subprocess.run(["objcopy", "--only-section=.text*", "--only-section=.rodata*",
                        "-O", "binary", path, path + ".code"], check=False)
        with open(path + ".code", "rb") as file:
            return file.read()
    return code(one) == code(other)


def copy_tree():
    for path in LISTED:
        target = os.path.join(WORK, path)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        shutil.copy2(path, target)
    os.makedirs(f"{WORK}/build")  # where the stories work
    for path, text in GENERATED.items():
        write(f"{WORK}/{path}", text)


def check_the_unbroken():
    for name in sorted({name for room in ROOMS for name in tests_for(room + "/")}):
        if fails(name):
            sys.exit(f"mutate: {name} fails already on the tree as it is")


def main():
    count, seed, only = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:]
    shutil.rmtree(WORK, ignore_errors=True)
    copy_tree()
    wanted = only or [path for path in sources("sim/", "model/")]
    parts = None
    os.chdir(WORK)
    parts = build_all()
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
