#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""mutate.py COUNT SEED [JOBS [FILE...]] - breaks the program in COUNT places of sim/ and model/, or
of some files there, one at a time, and asks the quick tests to find each.

A place is an operator, a bound, a condition, a constant or a whole statement inside a function; a
seed draws the same places from the same tree. `require` is left alone: a check that is taken away
changes nothing in a program that is right. Each broken file is compiled alone, and linked into the
one shared library that all test programs use.

Each mutant meets the cheap tests, those first that are likely to find something in its room, then
the slow ones of the room, and then some once more under valgrind, since a mutant may read what is
not its own. The first test that fails, crashes, or takes far more processor time than it needs on
the tree as it is ends the search.

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
import signal
import subprocess
import sys

WORK, BUILD = "build/mutation", "plain"
FLAGS = ["-std=c17", "-O1", "-w", "-g1", "-ffp-contract=off", "-pthread", "-fPIC", "-I.",
         "-D_POSIX_C_SOURCE=200809L"]
# Processor time of one process; on the tree as it is each takes a third of it at most. `compare`
# has a process for each scenario, all of which may loop for ever.
CPU_CHEAP, CPU_COMPARE, CPU_SLOW, CPU_VALGRIND = 5, 2, 100, 200
# Runs of both engines on random scenarios, `compare` with these words.
COMPARE = {
    "compare_few": ["--random", "40", "--seed", "1", "--chance-every", "4"],
    "compare": ["--random", "300", "--seed", "1", "--chance-every", "4"],
    "compare_written": sorted(glob.glob("tests/exact/*.yaml")),
    "compare_more": ["--random", "1500", "--seed", "1001", "--chance-every", "4"],
}
# The likeliest to find a fault in a room, and then all that take a fraction of a second.
LIKELY = {
    "sim": "unit/agenda unit/estimate unit/sealed_file unit/text_stream unit/json_stream "
           "unit/fault unit/require",
    "model/reader": "unit/messages unit/yaml_write unit/yaml_tree unit/draft unit/suggest "
                    "unit/quantity",
    "model/scenario": "unit/layout unit/messages unit/draft unit/suggest unit/quantity",
    "model/engine": "compare_few compare_written compare",
    "model/state": "unit/state_rows unit/world_audit unit/capsule",
    "model/budget": "unit/budget unit/rules",
    "model/cause": "unit/shortage unit/waits",
    "model/design": "unit/plan design/plans design/sweep",
}
CHEAP = ("unit/layout unit/observe unit/budget unit/literal unit/rules unit/suggest unit/fault "
         "unit/messages unit/agenda unit/shortage compare_few unit/line unit/lane unit/waits "
         "unit/belt_clock compare unit/world_audit unit/lane_profile unit/plan unit/base_stock "
         "unit/recovery")
SLOW = {
    "sim": "unit/random unit/identities story/run story/scenarios unit/state",
    "model/reader": "story/run story/budget unit/read design/sweep design/design",
    "model/scenario": "compare_more story/run story/budget unit/capsule unit/read design/sweep",
    "model/engine": "unit/long unit/record compare_more story/run unit/identities story/scenarios "
                    "story/drain unit/state unit/fill",
    "model/state": "unit/record story/run unit/state",
    "model/budget": "story/budget story/drain story/scenarios unit/certificate design/design "
                    "story/short",
    "model/cause": "story/drain story/short story/cause",
    "model/design": "design/design",
}
VALGRIND = ["valgrind", "-q", "--error-exitcode=99", "--leak-check=full",
            "--show-leak-kinds=definite", "--errors-for-leak-kinds=definite"]
WITH_VALGRIND = {"model/reader": "unit/messages unit/yaml_tree unit/draft",
                 "model/scenario": "unit/messages compare_few",
                 "model/budget": "unit/budget", "model/cause": "unit/shortage unit/waits",
                 "model/design": "unit/plan design/plans"}


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
                    places.append((path, number, broken, shown[number]))
        condition = re.match(r"^( +(?:\} else )?(?:if|while) )\((.*)\)( \{|;)?$", line)
        if condition:
            start, end = condition.span(2)
            broken = shown[number][:start] + "!(" + shown[number][start:end] + ")" + \
                shown[number][end:]
            places.append((path, number, broken, shown[number]))
        if STATEMENT.match(line) and not DECLARES.match(line):
            places.append((path, number, re.match(" +", line).group() + ";", shown[number]))
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
TESTS = sorted({test for tests in [CHEAP, *LIKELY.values(), *SLOW.values()]
                for test in tests.split() if "/" in test})


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


def fails(test, cpu_seconds, before=()):
    """Runs a test until it ends, or the first part of it has failed, as its report in TAP says, or
    until `compare` has said that the engines differ, which it would go on to show in a smaller
    scenario."""
    def limit():
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_seconds, cpu_seconds))
        resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 30, 1 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    environment = dict(os.environ, LOOPWRIGHT=f"{BUILD}/loopwright", CK_TAP_LOG_FILE_NAME="-")
    with subprocess.Popen(["stdbuf", "-oL", *before, *command_of(test)], env=environment,
                          preexec_fn=limit, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                          start_new_session=True) as process:
        for line in process.stdout:
            if line.startswith(b"not ok") or line.endswith(b": the engines differ\n"):
                os.killpg(process.pid, signal.SIGKILL)
                return True
        return process.wait() != 0


def tests_for(path):
    """The tests for a file in their order: that of its own name is the first."""
    room, own = os.path.dirname(path), "unit/" + os.path.basename(path)[:-2]
    names = [*LIKELY[room].split(), *CHEAP.split(), *SLOW[room].split()]
    return list(dict.fromkeys([own] * (own in names) + names))


def found_by(path):
    """The name of the first test that finds the mutant; None: none does."""
    room = os.path.dirname(path)
    for test in tests_for(path):
        slow = test in SLOW[room].split()
        if fails(test, CPU_COMPARE if test in COMPARE else CPU_SLOW if slow else CPU_CHEAP):
            return test
    for test in WITH_VALGRIND.get(room, "compare_few").split():
        if fails(test, CPU_VALGRIND, VALGRIND):
            return test + " with valgrind"
    return None


# ---- mutants ----

def judge(place):
    """Builds a mutant, and says how it fared: how it was found, `survives`, or None when it is none
    (does not compile, or gives the same code)."""
    path, number, broken, _ = place
    with open(path, encoding="utf-8") as file:
        text = file.read()
    lines = text.split("\n")
    lines[number] = broken
    fate = None
    whole, good = object_of(path), f"{BUILD}/good.o"
    shutil.copy2(whole, good)
    write(path, "\n".join(lines))
    if compile_one(path) and not same_code(whole, good) and link_library():
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


def copy_tree(work):
    for path in LISTED:
        target = os.path.join(work, path)
        os.makedirs(os.path.dirname(target), exist_ok=True)
        shutil.copy2(path, target)
    os.makedirs(f"{work}/build")  # where the stories work


# One process for each job, each in a tree of its own.
def begin_job(top, numbers):
    os.chdir(f"{top}/{numbers.get()}")


def holds(test):
    return not fails(test, CPU_SLOW)


def shown(place, fate):
    path, number, broken, was = place
    return f"{path}:{number + 1}: {fate}\n    - {was.strip()}\n    + {broken.strip()}\n"


def try_all(pool, places, count):
    """The places of the first `count` mutants, and those of them that survived; each mutant is
    reported as soon as its fate is known."""
    made, survived, begun = [], [], 0
    with open("report", "w", encoding="utf-8") as report:
        while len(made) < count and begun < len(places):
            some = places[begun:begun + count - len(made)]
            begun += len(some)
            for place, fate in zip(some, pool.imap(judge, some)):
                if fate is None:
                    continue
                made.append(place)
                if fate == "survives":
                    survived.append(place)
                report.write(shown(place, fate))
                report.flush()
    return made, survived


def prepare(jobs):
    """Makes the trees of all jobs."""
    shutil.rmtree(WORK, ignore_errors=True)
    copy_tree(f"{WORK}/0")
    os.chdir(f"{WORK}/0")
    build_all()
    os.chdir("..")
    for number in range(1, jobs):
        shutil.copytree("0", str(number), symlinks=True)


def new_pool(jobs):
    numbers = multiprocessing.Queue()
    for number in range(jobs):
        numbers.put(number)
    return multiprocessing.Pool(jobs, begin_job, (os.getcwd(), numbers))


def main():
    count, seed, jobs = int(sys.argv[1]), int(sys.argv[2]), int((sys.argv[3:] or ["1"])[0])
    wanted = sys.argv[4:] or sources("sim/", "model/")
    places = sorted(place for path in wanted for place in places_of(path))
    random.Random(seed).shuffle(places)
    prepare(jobs)
    with new_pool(jobs) as pool:
        every = [*COMPARE, *TESTS]
        for test, good in zip(every, pool.imap(holds, every)):
            if not good:
                sys.exit(f"mutate: {test} fails already on the tree as it is")
        made, survived = try_all(pool, places, count)
    for place in survived:
        print(shown(place, "survives"), end="")
    caught = len(made) - len(survived)
    share = 100 * caught / max(len(made), 1)
    print(f"{len(made)} mutants, {caught} caught ({share:.1f} %); all of them: {WORK}/report")
    return 0 if share >= 95 else 1


if __name__ == "__main__":
    sys.exit(main())
