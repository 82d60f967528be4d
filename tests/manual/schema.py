#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""schema.py PROGRAM [COUNT] - holds the schema of scenarios against the reader, by Debian's
python3-jsonschema: every scenario and brief of the tree passes both, those of scenarios/ run the
same with all defaults written out, the two agree on which numbers may be `find` and on every pair
of keys of a map, and of COUNT (200) scenarios that are changed at random the schema accepts
whatever the reader accepts. Status 77: the validator is not there."""
import copy
import glob
import itertools
import json
import random
import re
import subprocess
import sys

try:
    import jsonschema
    import yaml
except ImportError as missing:
    print(f"no {missing.name} for {sys.executable}")
    sys.exit(77)

PROGRAM = sys.argv[1]
COUNT = int(sys.argv[2]) if len(sys.argv) > 2 else 200


class CoreLoader(yaml.SafeLoader):
    """YAML 1.2's core schema, which editors use; PyYAML's own is that of YAML 1.1."""


CoreLoader.yaml_implicit_resolvers = {}
for tag, expression, first in [
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", list("-+0123456789")),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", list("-+.0123456789")),
]:
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{tag}",
                                     re.compile(f"^(?:{expression})$"), first)

SCHEMA = json.loads(subprocess.run([PROGRAM, "schema"], capture_output=True, check=True).stdout)
jsonschema.Draft7Validator.check_schema(SCHEMA)
VALIDATOR = jsonschema.Draft7Validator(SCHEMA)
# The keys of all maps, to put where they may not be.
KEYS = sorted({key for part in [SCHEMA, *SCHEMA["definitions"].values()]
               for key in part["properties"]})
VALUES = [True, False, None, -1, 0, 1, 2, 3, 0.5, 1.5, 10**13, "x", "ring", "1 s", "90", "1:00:00",
          "5 parsecs", "1.5min", "find", "ring@find", "", [], {}, [1], ["comb"], {"at_least": 1},
          {"exponential": "2 s"}, {"uniform": [1, 2]}, {"gamma": [1, 0]},
          {"chest": "shelf", "below": 3}]


def keys_in(node, schema, name, found):
    """Adds (map, key) for each key of the instance, as the schema leads to its maps."""
    if "$ref" in schema:
        name = schema["$ref"].rsplit("/", 1)[1]
        schema = SCHEMA["definitions"][name]
    for part in schema.get("allOf", []) + schema.get("anyOf", []):
        if VALIDATOR.evolve(schema={**part, "definitions": SCHEMA["definitions"]}).is_valid(node):
            keys_in(node, part, name, found)
    if isinstance(node, list) and isinstance(schema.get("items"), dict):
        for child in node:
            keys_in(child, schema["items"], name, found)
    for key, child in node.items() if isinstance(node, dict) else []:
        if key in schema.get("properties", {}):
            found.add((name, key))
            keys_in(child, schema["properties"][key], name, found)
        elif isinstance(schema.get("additionalProperties"), dict):
            keys_in(child, schema["additionalProperties"], name, found)
    return found


def keys_below(name, schema, found):
    """All (map, key) that a scenario may hold; `may` is for briefs, which only `design` reads."""
    for key, part in schema.get("properties", {}).items():
        if key != "may" and (name, key) not in found:
            found.add((name, key))
            for below in re.findall(r'"#/definitions/([^"]*)"', json.dumps(part)):
                keys_below(below, SCHEMA["definitions"][below], found)
    return found


def check_every_key(scenario, path):
    """The scenario in which every key stands: the reader accepts it, see main."""
    found = keys_in(scenario, SCHEMA, "scenario", set())
    known = keys_below("scenario", SCHEMA, set())
    if found != known:
        sys.exit(f"{path} lacks {sorted(known - found)}")
    return len(known)


def check_open(scenario):
    """Whatever may be written `find` for the one may be for the other; a name may be, for the
    schema, which knows no names."""
    agreed = 0
    for node in places(scenario, []):
        for key, value in node.items() if isinstance(node, dict) else []:
            if isinstance(value, (dict, list)):
                continue
            node[key] = re.sub("@.*", "@find", value) if "@" in str(value) else "find"
            valid, accepted = VALIDATOR.is_valid(scenario), reader_accepts(scenario)
            if accepted and not valid or valid and not accepted and not isinstance(value, str):
                sys.exit(f"only one of schema and reader accepts `find` in {node}")
            agreed += valid and accepted
            node[key] = value
    return agreed


def with_rules():
    """A scenario, and the maps of it whose keys exclude or need each other, each with a right value
    for each key."""
    latch = {"chest": "shelf", "below": 5, "reopen_below": 3}
    incident = {"at": 5, "every": 60, "first": 9, "stop": "feeder", "start": "feeder",
                "drop": {"item": "comb", "count": 1, "lane": "ring"}, "clear": {"lane": "ring"},
                "set": {"chest": "shelf", "capacity": 3}}
    scenario = {
        "items": ["comb", "box"],
        "loops": [{"name": "ring", "cells": 60, "rate": 4}],
        "lines": [{"name": "ramp", "cells": 10, "rate": 2}],
        "chests": [{"name": "bin", "start": {"comb": 9}}, {"name": "shelf"}],
        "stations": [{"name": "bench", "takes": {"comb": 1}, "makes": {"box": 1}, "time": "4 s"}],
        "arms": [{"name": "feeder", "from": "bin", "to": "ring@5", "swing": "2 s", "gate": latch},
                 {"name": "taker", "from": "ring@40", "to": "bench", "swing": 1, "gate": {}},
                 {"name": "shelver", "from": "bench", "to": "shelf", "swing": 1,
                  "gate": {"chest": "shelf", "at_least": 0}}],
        "demands": [{"name": "orders", "chest": "shelf", "item": "box", "every": 9}],
        "incidents": [{}, {"at": 5, "drop": {}}, {"at": 5, "clear": {}}, {"at": 5, "set": {}}],
        "expect": {"made": {"box": {}}}}
    gate = {"chest": "shelf", "station": "bench", "loop": "ring", "lane": "ring", "line": "ramp",
            "item": "comb", "input": "comb", "output": "box", "below": 5, "at_least": 5,
            "reopen_below": 3, "all": [latch], "any": [latch]}
    drop, clear, change = (scenario["incidents"][i][key]
                           for i, key in ((1, "drop"), (2, "clear"), (3, "set")))
    lanes = {"lane": "ring", "line": "ramp", "item": "comb"}
    right = [(scenario["arms"][1]["gate"], gate), (scenario["incidents"][0], incident),
             (drop, {**lanes, "count": 1}), (clear, lanes),
             (change, {"chest": "shelf", "capacity": 3, "gate": "feeder", "below": 6,
                       "reopen_below": 2}),
             (change, {"chest": "shelf", "capacity": 3, "gate": "shelver", "at_least": 6}),
             (scenario["expect"]["made"]["box"], {"at_least": 1, "at_most": 2}),
             (scenario["demands"][0], {"when_short": "lose", "outlet": True})]
    for place, values in right:
        first = next(keys for keys in (["chest", "below"], ["at", "stop"],
                                       ["lane", "item", "count"], ["chest", "capacity"],
                                       ["at_most"], [])
                     if set(keys) <= set(values))
        place.update({key: values[key] for key in first})
    return scenario, right


def check_rules():
    """Of all choices of up to three keys both accept the same."""
    scenario, right = with_rules()
    tried = 0
    for place, values in right:
        before = dict(place)
        for count in range(4):
            for keys in itertools.combinations(values, count):
                for key in values:
                    place.pop(key, None)
                place.update({key: values[key] for key in keys})
                if VALIDATOR.is_valid(scenario) != reader_accepts(scenario):
                    sys.exit(f"only one of schema and reader accepts {place}")
                tried += 1
        place.clear()
        place.update(before)
    return tried


def with_defaults(node, schema):
    """The same scenario with each default of its maps written out."""
    if "$ref" in schema:
        schema = SCHEMA["definitions"][schema["$ref"].rsplit("/", 1)[1]]
    for part in schema.get("allOf", []) + schema.get("anyOf", []):
        if VALIDATOR.evolve(schema={**part, "definitions": SCHEMA["definitions"]}).is_valid(node):
            node = with_defaults(node, part)
    if isinstance(node, list) and isinstance(schema.get("items"), dict):
        return [with_defaults(child, schema["items"]) for child in node]
    if not isinstance(node, dict):
        return node
    properties = schema.get("properties", {})
    further = schema.get("additionalProperties")
    filled = {key: with_defaults(child, properties.get(key, further if further else {}))
              for key, child in node.items()}
    for key, part in properties.items():
        if "default" in part and not (key == "when_short" and node.get("outlet")):
            filled.setdefault(key, part["default"])
    return filled


def check_defaults(scenario, path):
    """A scenario and the same with its defaults written out come to the same."""
    ran = [subprocess.run([PROGRAM, "run", "-", "--for", "5min", "--json"], capture_output=True,
                          input=json.dumps(text).encode()).stdout
           for text in (scenario, with_defaults(scenario, SCHEMA))]
    if not ran[0] or ran[0] != ran[1]:
        sys.exit(f"{path}: with its defaults written out it runs otherwise")


def reader_accepts(scenario):
    """Whether the program reads it: status 3 says that a scenario is wrong. JSON is YAML, but
    `find` stands without quotes."""
    text = re.sub(r'"((?:[\w/-]+@)?find)"', r"\1", json.dumps(scenario)).encode()
    done = subprocess.run([PROGRAM, "check", "-", "--quiet"], input=text, capture_output=True)
    if done.returncode not in (0, 3):
        sys.exit(f"status {done.returncode} of {text!r}")
    return done.returncode != 3


def places(node, found):
    """All maps and lists in it."""
    if isinstance(node, (dict, list)):
        found.append(node)
        for child in node.values() if isinstance(node, dict) else node:
            places(child, found)
    return found


def change(scenario, dice):
    """One change, of a kind that people make."""
    node = dice.choice([place for place in places(scenario, []) if place])
    keys = list(node) if isinstance(node, dict) else range(len(node))
    key, kind = dice.choice(keys), dice.randrange(10)
    if kind == 0:
        del node[key]
    elif kind == 1 and isinstance(node, dict):
        node[key[:-1] if len(key) > 1 else key + "s"] = node.pop(key)
    elif kind == 2 and isinstance(node, dict):
        node[dice.choice(KEYS)] = dice.choice(VALUES)
    elif kind == 3 and isinstance(node, dict):
        other = dice.choice(keys)
        node[key], node[other] = node[other], node[key]
    elif kind == 4 and isinstance(node[key], (int, float)) and not isinstance(node[key], bool):
        node[key] = dice.choice([-node[key], node[key] * 2, node[key] + 0.5, str(node[key])])
    elif kind == 5:
        node[key] = dice.choice(VALUES)
    else:
        nudge(scenario, dice)


def nudge(scenario, dice):
    """Another number, or another time, where there is one: most of these are right."""
    numbers = [(node, key) for node in places(scenario, []) if isinstance(node, dict)
               for key, value in node.items()
               if isinstance(value, (int, float)) and not isinstance(value, bool)]
    node, key = dice.choice(numbers)
    node[key] = dice.choice([node[key] + 1, 2 * node[key], node[key] / 4, f"{node[key]} min", 0])


def main():
    paths = sorted(path for pattern in ["scenarios/*.yaml", "tests/*/*.yaml", "tests/*/*/*.yaml",
                                         "tests/design/*.brief", "tools/new/*.yaml"]
                   for path in glob.glob(pattern))
    scenarios = []
    for path in paths:
        with open(path, encoding="utf-8") as file:
            scenarios.append(yaml.load(file, CoreLoader))
        wrong = list(VALIDATOR.iter_errors(scenarios[-1]))
        if wrong or not reader_accepts(scenarios[-1]):
            sys.exit(f"{path}: {wrong[0] if wrong else 'refused by the reader'}")
    for path, scenario in zip(paths, scenarios):
        if path.startswith("scenarios/"):
            check_defaults(scenario, path)
    every_key = scenarios[paths.index("tests/manual/every-key.yaml")]
    keys = check_every_key(every_key, "tests/manual/every-key.yaml")
    opened = check_open(copy.deepcopy(every_key))
    choices = check_rules()
    dice = random.Random(1)
    accepted = refused = caught = 0
    for _ in range(COUNT):
        scenario = copy.deepcopy(dice.choice(scenarios))
        change(scenario, dice)
        valid = VALIDATOR.is_valid(scenario)
        if reader_accepts(scenario):
            accepted += 1
            if not valid:
                wrong = next(VALIDATOR.iter_errors(scenario))
                sys.exit(f"the reader accepts {json.dumps(scenario)}; the schema: {wrong}")
        else:
            refused += 1
            caught += not valid
    print(f"{len(paths)} scenarios pass both, one with all {keys} keys, of which {opened} "
          f"values may be `find` for both; they agree on {choices} choices of keys; of {COUNT} "
          f"changed ones the reader accepts {accepted}, the schema all of these; of {refused} that "
          f"the reader refuses, the schema refuses {caught}")
    if accepted < COUNT / 10 or caught < refused / 2:
        sys.exit("too few changed ones are accepted, or found wrong, to say anything")


main()
