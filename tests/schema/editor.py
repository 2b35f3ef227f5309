"""The schemas in the YAML service of editors, spoken to as an editor speaks to it.

    editor.py PROGRAM MODULES

MODULES is where npm put yaml-language-server.  In a folder of its own, whose files are given the
schema: keys are offered at a place, the meaning of a key is shown where the pointer rests on it, a
wrong word is marked, and the file as it should be is not.
"""
import json
import os
import pathlib
import queue
import subprocess
import sys
import tempfile
import threading

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.dirname(os.path.dirname(HERE))
PATIENCE = 50  # seconds, of a service that has to load first


class Service:
    """JSON-RPC over a pipe: requests get answers, and the service asks for its settings."""

    def __init__(self, modules, settings):
        self.settings, self.last, self.heard = settings, 0, queue.Queue()
        self.process = subprocess.Popen(
            ["node", os.path.join(modules, "yaml-language-server/bin/yaml-language-server"), "--stdio"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
        threading.Thread(target=self.listen, daemon=True).start()
        self.marked = {}

    def listen(self):
        out = self.process.stdout
        while True:
            size = 0
            for line in iter(out.readline, b""):
                if line in (b"\r\n", b"\n"):
                    break
                name, _, value = line.decode().partition(":")
                size = int(value) if name.lower() == "content-length" else size
            if not size:
                return
            self.heard.put(json.loads(out.read(size)))

    def send(self, **message):
        data = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(data) + data)
        self.process.stdin.flush()

    def answer(self, message):
        if message["method"] == "workspace/configuration":
            result = [self.settings.get(item["section"]) for item in message["params"]["items"]]
        else:
            result = None
        self.send(id=message["id"], result=result)

    def hear(self, is_it):
        """The next message that `is_it` takes; what comes before is dealt with."""
        while True:
            message = self.heard.get(timeout=PATIENCE)
            if "method" in message and "id" in message:
                self.answer(message)
            elif message.get("method") == "textDocument/publishDiagnostics":
                self.marked[message["params"]["uri"]] = message["params"]["diagnostics"]
            if is_it(message):
                return message

    def ask(self, method, params):
        self.last += 1
        number = self.last
        self.send(id=number, method=method, params=params)
        message = self.hear(lambda heard: heard.get("id") == number and "method" not in heard)
        if "error" in message:
            raise SystemExit(f"{method}: {message['error']}")
        return message["result"]

    def tell(self, method, params):
        self.send(method=method, params=params)

    def end(self):
        self.process.kill()
        self.process.wait()


class File:
    """A file in the editor; `|` in its text is the place of the pointer."""

    def __init__(self, service, path, text):
        self.service, self.uri = service, path.as_uri()
        before = text.partition("|")[0]
        self.place = {"line": before.count("\n"), "character": len(before.rpartition("\n")[2])}
        self.text = text.replace("|", "", 1)
        path.write_text(self.text, encoding="utf-8")
        service.tell("textDocument/didOpen", {"textDocument": {
            "uri": self.uri, "languageId": "yaml", "version": 1, "text": self.text}})

    def at(self):
        return {"textDocument": {"uri": self.uri}, "position": self.place}

    def offered(self):
        found = self.service.ask("textDocument/completion", self.at()) or {"items": []}
        return [item["label"] for item in (found if isinstance(found, list) else found["items"])]

    def hovered(self):
        found = self.service.ask("textDocument/hover", self.at())
        contents = found["contents"] if found else ""
        return contents["value"] if isinstance(contents, dict) else str(contents)

    def marked(self):
        self.service.hear(lambda heard: heard.get("method") == "textDocument/publishDiagnostics" and
                          heard["params"]["uri"] == self.uri)
        return self.service.marked[self.uri]


def sample():
    return (pathlib.Path(TOP) / "rules/base-machine.yaml").read_text(encoding="utf-8")


def book():
    text = (pathlib.Path(TOP) / "rules/README.md").read_text(encoding="utf-8")
    return text.split("```yaml rulebook\n", 1)[1].split("```", 1)[0]


POLICY = """proveout-policy: 1
stop_at: warning
levels: {long-and-thin: note}
measured_within: 180 days
"""
KNOWN = """proveout-known: 1
files:
  - file: shop/mill.yaml
    content: 4b5a0f6c2d9e1a37
    findings:
      - {rule: long-and-thin, level: error, fingerprint: 91b1c0a4e2d7f655}
"""
AGREEMENTS = """proveout-agreements: 1
agreements:
  - field: change.standoff
    file: a.txt
    pattern: '^S (?<value>.*)'
"""


def put(text, old, new):
    if text.count(old) < 1:
        raise SystemExit(f"{old!r} is not there")
    return text.replace(old, new, 1)


def steps():
    """(kind, what, text with the pointer, what is asked, what must be in the answer)"""
    machine, rules = sample(), book()
    yield "machine", "whole", machine + "|", "marked", []
    yield "machine", "whole extending", "proveout: 1\nextends: a.yaml\ntable: {x: ~}\n|", "marked", []
    yield "machine", "keys at the top", "proveout: 1\nmachine:\n  name: a\n|", "offered", \
        ["setter", "cutters", "homing", "extends"]
    yield "machine", "keys of a section", "proveout: 1\nsetter:\n  |", "offered", \
        ["nose_contact", "overtravel", "input"]
    yield "machine", "keys of a cutter", "proveout: 1\ncutters:\n  - number: 1\n    |", "offered", \
        ["description", "stickout"]
    yield "machine", "keys where others are taken in", "proveout: 1\nextends: a.yaml\nsetter:\n  |", \
        "offered", ["nose_contact"]
    yield "machine", "words of a choice", "proveout: 1\nchange:\n  measures_with: |\n", "offered", \
        ["setter", "plate"]
    yield "machine", "meaning", put(machine, "\n  nose_contact: -165", "\n  nose_con|tact: -165"), "hovered", \
        ["Z of the nose where the nut", "Hold a straight blank rod"]
    yield "machine", "wrong word", put(machine, "measures_with: setter", "measures_with: setterr") + "|", \
        "marked", ["setter"]
    yield "machine", "wrong unit", put(machine, "nose_contact: -165 mm", "nose_contact: -165 kg") + "|", \
        "marked", ["length"]
    yield "machine", "unknown key", put(machine, "\ntable:", "\ntabel: 1\ntable:") + "|", "marked", ["tabel"]
    named = "# yaml-language-server: $schema=../machine.json\n"
    yield "elsewhere", "whole, named in the file", named + machine + "|", "marked", []
    yield "elsewhere", "named in the file", named + put(machine, "setter:", "setterr: 1\nsetter:") + "|", \
        "marked", ["setterr"]
    yield "rulebook", "whole", rules + "|", "marked", []
    yield "rulebook", "keys of a rule", "rulebook: 1\ntitle: a\nrules:\n  one:\n    |", "offered", \
        ["level", "require", "examples"]
    yield "rulebook", "words of a choice", "rulebook: 1\ntitle: a\nrules:\n  one:\n    hurts: |\n", "offered", \
        ["person", "machine", "work"]
    yield "rulebook", "fields in an example", \
        "rulebook: 1\ntitle: a\nrules:\n  one:\n    examples:\n      holds:\n        - |", "offered", \
        ["change.probe_stroke", "margin"]
    yield "rulebook", "meaning", put(rules, "put_right", "put_r|ight"), "hovered", ["said as an order"]
    yield "rulebook", "wrong word", put(rules, "level: warning", "level: bad") + "|", "marked", ["note"]
    yield "rulebook", "wrong value in an example", put(rules, "19.02 mm", "19.02 kg") + "|", "marked", \
        ["19.02 kg"]
    yield "policy", "whole", POLICY + "|", "marked", []
    yield "policy", "keys", "proveout-policy: 1\n|", "offered", ["stop_at", "measured_within", "waivers"]
    yield "policy", "words of a choice", "proveout-policy: 1\nstop_at: |\n", "offered", ["warning"]
    yield "policy", "meaning", put(POLICY, "measured_within", "measured_w|ithin"), "hovered", ["in days"]
    yield "policy", "wrong word", put(POLICY, "stop_at: warning", "stop_at: bad") + "|", "marked", ["note"]
    yield "known", "whole", KNOWN + "|", "marked", []
    yield "known", "meaning", put(KNOWN, "fingerprint", "finger|print"), "hovered", ["what it is known by"]
    yield "agreements", "whole", AGREEMENTS + "|", "marked", []
    yield "agreements", "meaning", put(AGREEMENTS, "pattern:", "patt|ern:"), "hovered", ["in a group named value"]
    yield "known", "wrong level", put(KNOWN, "level: error", "level: bad") + "|", "marked", ["warning"]


def says(given, asked, text):
    """What an answer comes to as one text."""
    if asked != "marked":
        return "\n".join(given) if isinstance(given, list) else given
    lines = text.split("\n")
    return "\n".join(f"{one['message']} ({lines[one['range']['start']['line']].strip()})" for one in given)


def main(program, modules):
    wrong = done = 0
    with tempfile.TemporaryDirectory() as folder:
        top = pathlib.Path(folder)
        (top / "elsewhere").mkdir()
        associated = {}
        for kind in ("machine", "rulebook", "policy", "known", "agreements"):
            (top / kind).mkdir()
            schema = top / f"{kind}.json"
            subprocess.run([program, "schema", kind, "--output", str(schema)], check=True)
            associated[schema.as_uri()] = f"{kind}/*.yaml"
        settings = {"yaml": {"schemas": associated, "validate": True, "hover": True, "completion": True,
                             "schemaStore": {"enable": False}}}
        service = Service(modules, settings)
        try:
            service.ask("initialize", {"processId": os.getpid(), "rootUri": top.as_uri(), "capabilities": {
                "workspace": {"configuration": True}, "textDocument": {
                    "hover": {"contentFormat": ["markdown", "plaintext"]},
                    "completion": {"completionItem": {"snippetSupport": True}}}}})
            service.tell("initialized", {})
            service.tell("workspace/didChangeConfiguration", {"settings": settings})
            for number, (kind, what, text, asked, wanted) in enumerate(steps()):
                file = File(service, top / kind / f"{number}.yaml", text)
                given = getattr(file, asked)()
                said = says(given, asked, file.text)
                bad = bool(said) if not wanted else [word for word in wanted if word not in said]
                wrong += bool(bad)
                done += 1
                if bad:
                    print(f"{kind}: {what}: wanted {wanted}, {asked}: {said[:600]!r}")
        finally:
            service.end()
    print(f"{done} questions of an editor, {wrong} answered otherwise")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
