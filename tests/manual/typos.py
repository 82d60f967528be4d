#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""typos.py PROGRAM [COUNT] - of COUNT (500) words of scenarios, keys and names, each with one
letter left out, added, changed, or changed with its neighbour, the program offers the right one in
at least 95 of 100. Status 77: there is no YAML for Python."""
import copy
import glob
import json
import random
import re
import string
import subprocess
import sys

try:
    import yaml
except ImportError as missing:
    print(f"no {missing.name} for {sys.executable}")
    sys.exit(77)

PROGRAM = sys.argv[1]
COUNT = int(sys.argv[2]) if len(sys.argv) > 2 else 500
LEAST_SHARE = 0.95
# Keys whose values name something.
NAMING = {"chest", "item", "station", "loop", "line", "lane", "from", "to", "stop", "start", "gate",
          "input", "output", "choose", "when_full", "when_short"}


def typo(word, dice):
    """One edit of a word; the first letter stays, as it mostly does."""
    at = dice.randrange(1, len(word)) if len(word) > 1 else 0
    letter = dice.choice(string.ascii_lowercase)
    kind = dice.randrange(4)
    if kind == 0:
        return word[:at] + word[at + 1:]
    if kind == 1:
        return word[:at] + letter + word[at:]
    if kind == 2 or at + 1 >= len(word):
        return word[:at] + letter + word[at + 1:]
    return word[:at] + word[at + 1] + word[at] + word[at + 2:]


def places(node, found):
    """(map, key, part): of each key, and of each value that names something, a part of its text."""
    if isinstance(node, list):
        for child in node:
            places(child, found)
    if isinstance(node, dict):
        for key, value in node.items():
            found.append((node, key, None))
            if key in NAMING and isinstance(value, str):
                found.extend((node, key, part) for part in re.findall(r"[a-zA-Z][\w-]*", value))
            places(value, found)
    return found


def misspell(scenario, dice):
    """Writes one word of the scenario wrong; (right, wrong), or None where nothing came of it."""
    node, key, part = dice.choice(places(scenario, []))
    right = key if part is None else part
    if len(right) < 3:
        return None
    wrong = typo(right, dice)
    if part is not None:
        node[key] = node[key].replace(part, wrong, 1)
    else:
        pairs = list(node.items())
        node.clear()
        node.update((wrong if name == key else name, value) for name, value in pairs)
    return (right, wrong) if right != wrong else None


def main():
    scenarios = []
    for path in sorted(glob.glob("scenarios/*.yaml") + glob.glob("tests/story/gallery/*.yaml")):
        with open(path, encoding="utf-8") as file:
            scenarios.append(yaml.safe_load(file))
    dice = random.Random(1)
    tried, offered, others = 0, 0, []
    while tried < COUNT:
        scenario = copy.deepcopy(dice.choice(scenarios))
        words = misspell(scenario, dice)
        if words is None:
            continue
        done = subprocess.run([PROGRAM, "budget", "-", "--quiet"], text=True, capture_output=True,
                              input=json.dumps(scenario, indent=0))
        if done.returncode != 3:
            continue  # still a scenario: another word that is there
        right, wrong = words
        helps = re.findall(r"help: did you mean `([^`]*)`", done.stderr)
        tried += 1
        if right in helps:
            offered += 1
        else:
            others.append(f"{wrong} for {right}: {helps or done.stderr.splitlines()[0]}")
    print("\n".join(others))
    print(f"of {tried} words with one edit the right one is offered for {offered}, "
          f"{100 * offered / tried:.1f} %")
    if offered < LEAST_SHARE * tried:
        sys.exit(1)


main()
