#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""mutate.py COUNT SEED [JOBS [FILE...]] - breaks the program in COUNT places of sim/ and model/, or
of some files there, one at a time, and asks the quick tests to find each.

A place is an operator, a bound, a condition, a constant or a whole statement inside a function; a
seed draws the same places from the same tree. `require` is left alone: a check that is taken away
changes nothing in a program that is right. Each broken file is compiled alone, and linked into the
one shared library that all test programs use.

First each test runs once on the tree as it is, which tells what it costs. Those that take at most
CHEAP_SECONDS are tried on each mutant, others on those of the rooms in SLOW, in the order of their
cost; but the test that is named for the file comes first. The first that fails, crashes, or takes
much more processor time than it should ends the search. A mutant that none of them finds is tried
with a few of them once more under valgrind, because it may read what is not its own.

JOBS mutants are tried at once, each in a copy of the tree, build/mutation/0 and so on. All mutants
and what found each are in build/mutation/report; docs/mutation.md says of each survivor of
COUNT=300 SEED=1 why it may."""
import glob
import multiprocessing
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
# Processor time of one process: so many times what the whole test takes, and some seconds.
CPU_TIMES_MAX, CPU_SECONDS_MORE = 4, 4
# Runs of both engines on random scenarios, `compare` with these words.
COMPARE = {
    "compare_few": ["--random", "40", "--seed", "1", "--chance-every", "4"],
    "compare": ["--random", "300", "--seed", "1", "--chance-every", "4"],
    "compare_more": ["--random", "1500", "--seed", "1001", "--chance-every", "4"],
}
# Tests that cost more than CHEAP_SECONDS, and the rooms in which they find what no cheap one does.
# All of tests/unit that is cheap is tried on each mutant; what is neither cheap nor here is not.
CHEAP_SECONDS = 1.5
SLOW = {
    "compare_more": "model/engine model/scenario",
    "unit/random": "sim",
    "unit/identities": "sim model/engine",
    "unit/fill": "model/engine",
    "unit/state": "sim model/engine model/state",
    "unit/capsule": "model/state model/scenario",
    "unit/record": "model/engine model/state",
    "unit/certificate": "model/budget",
    "unit/read": "model/reader model/scenario",
    "story/run": "sim model/reader model/scenario model/engine model/state",
    "story/scenarios": "sim model/engine model/budget",
    "story/budget": "model/scenario model/budget",
    "story/drain": "model/budget model/cause",
    "story/short": "model/cause model/budget",
    "story/cause": "model/cause",
    "design/design": "model/design model/budget",
    "design/sweep": "model/design model/scenario",
}
VALGRIND = ["valgrind", "-q", "--error-exitcode=99", "--leak-check=full",
            "--show-leak-kinds=definite", "--errors-for-leak-kinds=definite"]
WITH_VALGRIND = ["unit/messages", "unit/budget", "unit/waits", "unit/shortage", "compare_few"]
CPU_TIMES_VALGRIND = 60


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


def object_of(source):
    return f"{BUILD}/{source[:-2]}.o"


def compile_one(source):
    target = object_of(source)
    os.makedirs(os.path.dirname(target), exist_ok=True)
    return run(["cc", *FLAGS, "-c", source, "-o", target]) == 0


LISTED = subprocess.run(["git", "ls-files"], stdout=subprocess.PIPE, text=True,
                        check=True).stdout.split("\n")[:-1]


def sources(*beginnings):
    return [path for path in LISTED if path.startswith(beginnings) and path.endswith(".c")]


# What the Makefile generates: the page without content, as no test below needs it.
ASSETS = "tools/page/assets_data.c"
KINDS = "tools/new/kinds.c"
NO_ASSETS = '#include "tools/page/assets.h"\n' \
            "const struct assets_file assets_data[1] = {{0}};\n"
LIBRARIES = ["-lgsl", "-lgslcblas", "-lyaml", "-ljansson", "-lz", "-lglpk", "-lm"]
TESTS = [path.split("/test_")[0][len("tests/"):] + "/" + path.split("/test_")[1][:-2]
         for path in sources("tests/unit/test_")] + [test for test in SLOW if "/" in test]
TESTS = sorted(set(TESTS) - {"unit/corners"})


def parts_of_program():
    every = sources("sim/", "model/", "tools/") + [ASSETS, KINDS]
    return [path for path in every if path != "tools/loopwright.c"]


def link(name, paths, more):
    return run(["cc", "-pthread", *map(object_of, paths), *more, *LIBRARIES,
                "-o", f"{BUILD}/{name}"]) == 0


def link_library():
    return link("libparts.so", parts_of_program(), ["-shared"])


def source_of(test):
    return f"tests/{test.replace('/', '/test_')}.c"


def build_all():
    """Builds the program, `compare` and all tests."""
    common = sources("tests/common/")
    exact = [path for path in sources("tests/exact/") if path != "tests/exact/compare.c"]
    unit = [path for path in sources("tests/unit/") if "/test_" not in path]
    story = [path for path in sources("tests/story/") if "/test_" not in path]
    ring = ["tests/bench/ring.c"]
    kinds = ["tools/new/loop.yaml", "tools/new/brief.yaml", *sorted(glob.glob("scenarios/*.yaml"))]
    write(ASSETS, NO_ASSETS)
    write(KINDS, subprocess.run(["tools/new/texts.sh", *kinds], stdout=subprocess.PIPE, text=True,
                                check=True).stdout)
    programs = {"loopwright": ["tools/loopwright.c"],
                "compare": ["tests/exact/compare.c"] + exact + common}
    for test in TESTS:
        shared = unit + exact + ring if test.startswith("unit") else story
        programs[test.replace("/", "_")] = [source_of(test)] + shared + common
    needed = set(parts_of_program()).union(*programs.values())
    for path in sorted(needed):
        if not compile_one(path):
            sys.exit(f"mutate: {path} does not compile")
    check = subprocess.run(["pkg-config", "--libs", "check"], stdout=subprocess.PIPE, text=True,
                           check=True).stdout.split()
    good = link_library()
    for name, paths in programs.items():
        good = good and link(name, paths, [f"-L{BUILD}", "-lparts", "-Wl,-rpath,$ORIGIN", *check])
    if not good:
        sys.exit("mutate: the tests cannot be linked")


# ---- testing ----

def command_of(test):
    if test in COMPARE:
        return [f"{BUILD}/compare", *COMPARE[test]]
    return [f"{BUILD}/{test.replace('/', '_')}"]


def processor_seconds():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def fails(test, cpu_seconds, before=()):
    def limit():
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_seconds, cpu_seconds))
        resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 30, 1 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    environment = dict(os.environ, LOOPWRIGHT=f"{BUILD}/loopwright")
    try:
        return run([*before, *command_of(test)], env=environment, preexec_fn=limit,
                   timeout=1800) != 0
    except subprocess.TimeoutExpired:
        return True


def measure():
    """{test: its processor time}."""
    costs = {}
    build_all()
    for test in [*COMPARE, *TESTS]:
        before = processor_seconds()
        if fails(test, 3600):
            sys.exit(f"mutate: {test} fails already on the tree as it is")
        costs[test] = processor_seconds() - before
    return costs


def tests_for(path, costs):
    """The tests for a file, those first that are likely or quick to find a fault there."""
    room = os.path.dirname(path)
    names = [test for test, cost in costs.items()
             if (room in SLOW[test].split() if test in SLOW else cost <= CHEAP_SECONDS)]
    return sorted(names, key=lambda test: (os.path.basename(test) != os.path.basename(path)[:-2],
                                           costs[test]))


def found_by(path, costs):
    """The name of the first test that finds the mutant; None: none does."""
    names = tests_for(path, costs)
    for test in names:
        if fails(test, int(CPU_TIMES_MAX * costs[test] + CPU_SECONDS_MORE)):
            return test
    for test in WITH_VALGRIND:
        if test in names and fails(test, int(CPU_TIMES_VALGRIND * (1 + costs[test])), VALGRIND):
            return test + " with valgrind"
    return None


# ---- mutants ----

def judge(place, costs):
    """Builds a mutant, and says how it fared: how it was found, `survives`, or None when it is none
    (does not compile, or gives the same code)."""
    path, number, broken = place
    with open(path, encoding="utf-8") as file:
        text = file.read()
    lines = text.split("\n")
    lines[number] = broken
    fate = None
    whole, good = object_of(path), f"{BUILD}/good.o"
    shutil.copy2(whole, good)
    write(path, "\n".join(lines))
    if compile_one(path) and not same_code(whole, good) and link_library():
        fate = found_by(path, costs) or "survives"
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


def copy_tree(work):
    for path in LISTED:
        target = os.path.join(work, path)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        shutil.copy2(path, target)
    os.makedirs(f"{work}/build")  # where the stories work


# One process for each job, each in a tree of its own.
def begin_job(top, numbers, costs):
    os.chdir(f"{top}/{numbers.get()}")
    begin_job.costs = costs


def try_place(place):
    return judge(place, begin_job.costs)


def shown(place, fate):
    path, number, broken = place
    with open(path, encoding="utf-8") as file:
        was = file.read().split("\n")[number]
    return f"{path}:{number + 1}: {fate}\n    - {was.strip()}\n    + {broken.strip()}\n"


def fates(places, jobs, costs):
    """(place, its fate) in the order of the places, each as soon as it is known."""
    numbers = multiprocessing.Queue()
    for number in range(jobs):
        numbers.put(number)
    with multiprocessing.Pool(jobs, begin_job, (os.getcwd(), numbers, costs)) as pool:
        yield from zip(places, pool.imap(try_place, places))


def prepare(jobs):
    """Makes the trees of all jobs; what measure() says."""
    shutil.rmtree(WORK, ignore_errors=True)
    copy_tree(f"{WORK}/0")
    os.chdir(f"{WORK}/0")
    costs = measure()
    os.chdir("..")
    for number in range(1, jobs):
        shutil.copytree("0", str(number), symlinks=True)
    return costs


def main():
    count, seed, jobs = int(sys.argv[1]), int(sys.argv[2]), int((sys.argv[3:] or ["1"])[0])
    wanted = sys.argv[4:] or sources("sim/", "model/")
    places = sorted(place for path in wanted for place in places_of(path))
    random.Random(seed).shuffle(places)
    costs = prepare(jobs)
    made = caught = 0
    with open("report", "w", encoding="utf-8") as report:
        for place, fate in fates(places, jobs, costs):
            if fate is None:
                continue
            made += 1
            caught += fate != "survives"
            os.chdir("0")
            line = shown(place, fate)
            os.chdir("..")
            report.write(line)
            report.flush()
            if fate == "survives":
                print(line, end="", flush=True)
            if made == count:
                break
    print(f"{made} mutants, {caught} caught ({100 * caught / max(made, 1):.1f} %); "
          f"all of them: {WORK}/report")
    return 0 if 100 * caught >= 95 * made else 1


if __name__ == "__main__":
    sys.exit(main())
