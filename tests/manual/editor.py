#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""editor.py [SERVER] - opens scenarios as an editor does, by the Language Server Protocol 3.17,
with yaml-language-server: a scenario of the tree is without fault, a wrong key is marked where it
stands, a second key beside one that excludes it too, a brief is without fault, keys are completed,
and hovering shows what a key means. Status 77: no such server is installed (npm install
yaml-language-server)."""
import json
import os
import queue
import shutil
import subprocess
import sys
import threading

SERVER = sys.argv[1] if len(sys.argv) > 1 else shutil.which("yaml-language-server")
WAIT_S = 60
if not SERVER or not shutil.which("node"):
    print("no yaml-language-server on this machine")
    sys.exit(77)


class Editor:
    def __init__(self):
        self.server = subprocess.Popen([SERVER, "--stdio"], stdin=subprocess.PIPE,
                                       stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        self.messages = queue.Queue()
        self.faults = {}
        self.requests = 0
        threading.Thread(target=self.listen, daemon=True).start()
        self.ask("initialize", {"processId": os.getpid(), "rootUri": None, "capabilities": {}})
        self.tell("initialized", {})

    def listen(self):
        while True:
            length = 0
            while True:
                line = self.server.stdout.readline()
                if not line:
                    return
                if line == b"\r\n":
                    break
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            self.messages.put(json.loads(self.server.stdout.read(length)))

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.server.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.server.stdin.flush()

    def tell(self, method, parameters):
        self.send({"method": method, "params": parameters})

    def take(self):
        """The next message; answers what the server asks of an editor."""
        message = self.messages.get(timeout=WAIT_S)
        if message.get("method") == "textDocument/publishDiagnostics":
            self.faults[message["params"]["uri"]] = message["params"]["diagnostics"]
        elif "method" in message and "id" in message:
            wanted = message["params"].get("items", []) if message.get("params") else []
            self.send({"id": message["id"], "result": [None for _ in wanted]})
        return message

    def ask(self, method, parameters):
        self.requests += 1
        self.send({"id": self.requests, "method": method, "params": parameters})
        while True:
            message = self.take()
            if message.get("id") == self.requests and "method" not in message:
                return message["result"]

    def open(self, path, text):
        uri = "file://" + os.path.abspath(path)
        self.tell("textDocument/didOpen", {"textDocument": {
            "uri": uri, "languageId": "yaml", "version": 1, "text": text}})
        return uri

    def faults_of(self, uri):
        while uri not in self.faults:
            self.take()
        return self.faults[uri]

    def at(self, uri, line, character):
        return {"textDocument": {"uri": uri}, "position": {"line": line, "character": character}}


def check(holds, what):
    if not holds:
        sys.exit(what)


def main():
    editor = Editor()
    path = "scenarios/first.yaml"
    with open(path, encoding="utf-8") as file:
        text = file.read()
    check(not editor.faults_of(editor.open(path, text)), "faults in a scenario that is right")

    head = next(line for line in text.splitlines() if "$schema=" in line)
    wrong = head + "\nloops:\n  - name: ring\n    celz: 120\n    rate: 8\n"
    uri = editor.open("scenarios/wrong.yaml", wrong)
    faults = {fault["message"]: fault["range"]["start"] for fault in editor.faults_of(uri)}
    check(any("celz" in message and place == {"line": 3, "character": 4}
              for message, place in faults.items()), f"`celz` is not marked: {faults}")
    check(any("cells" in message for message in faults), f"nothing says `cells` lacks: {faults}")

    both = head + "\narms:\n  - {name: a, from: b, to: c, swing: 1,\n" \
        "     gate: {chest: b, below: find, at_least: 2}}\n"
    faults_of_both = editor.faults_of(editor.open("scenarios/both.yaml", both))
    check([fault["range"]["start"] for fault in faults_of_both] == [{"line": 3, "character": 35}],
          f"`at_least` beside `below` is not marked alone: {faults_of_both}")
    with open("tools/new/brief.yaml", encoding="utf-8") as file:
        brief = editor.faults_of(editor.open("tools/new/brief.yaml", file.read()))
    check(not brief, f"faults in a brief that is right: {brief}")

    hover = editor.ask("textDocument/hover", editor.at(uri, 4, 6))
    check("cells a second" in json.dumps(hover), f"hovering over `rate` says {hover}")

    begun = head + "\nloops:\n  - name: ring\n    \n"
    uri = editor.open("scenarios/begun.yaml", begun)
    editor.faults_of(uri)
    found = editor.ask("textDocument/completion", editor.at(uri, 3, 4))
    labels = {item["label"] for item in (found["items"] if isinstance(found, dict) else found)}
    check({"cells", "rate", "lanes", "breaks"} <= labels, f"completion offers only {labels}")
    editor.server.kill()
    print(f"no fault in {path} nor in a brief; {len(faults)} faults of a wrong key found, "
          f"and one of two that exclude each other; hover and completion of "
          f"{len(labels)} keys work")


main()
