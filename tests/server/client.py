"""A plain client of the language server: messages of JSON-RPC to and from a process, no library.

    with Client(program, "--rulebook", book) as client:
        client.start()
        client.open(uri, text)
        client.told(uri)                  diagnostics, once all that was sent is done
        client.ask("textDocument/hover", textDocument={"uri": uri}, position=...)
"""
import json
import os
import pathlib
import select
import subprocess
import time

PATIENCE = 60  # seconds, for a build that is watched by a sanitizer on a busy machine


class Refused(Exception):
    def __init__(self, error):
        super().__init__(f"{error['code']}: {error['message']}")
        self.code, self.message = error["code"], error["message"]


def framed(message):
    body = message if isinstance(message, bytes) else json.dumps(message).encode()
    return b"Content-Length: %d\r\n\r\n" % len(body) + body


def uri_of(path):
    return pathlib.Path(path).absolute().as_uri()


def at(line, character):
    return {"line": line, "character": character}


def between(start, end):
    return {"start": at(*start), "end": at(*end)}


FULL = {
    "general": {"positionEncodings": ["utf-16"]},
    "workspace": {
        "workspaceEdit": {"documentChanges": True, "changeAnnotationSupport": {}},
        "didChangeWatchedFiles": {"dynamicRegistration": True}},
    "textDocument": {
        "publishDiagnostics": {"relatedInformation": True, "versionSupport": True},
        "hover": {"contentFormat": ["markdown", "plaintext"]},
        "completion": {"completionItem": {"documentationFormat": ["markdown"]}},
        "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": []}},
                       "isPreferredSupport": True},
        "rename": {"prepareSupport": True},
        "documentSymbol": {"hierarchicalDocumentSymbolSupport": True}},
}


class Client:
    def __init__(self, program, *arguments):
        self.process = subprocess.Popen([program, "language-server", *arguments],
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, bufsize=0)
        self.waiting, self.ids, self.versions = b"", 0, {}
        self.unsent, self.is_sending = b"", False
        self.answers, self.diagnostics, self.shown, self.logged, self.asked = {}, [], [], [], []
        self.nameless = []  # errors without an id

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                pipe.close()
            except OSError:
                pass

    # --- messages ---

    def send(self, data):
        """Writes, and reads what comes meanwhile, so that neither waits for the other.  What is to be
        said to that waits until the message is whole."""
        self.unsent += data
        while self.unsent and not self.is_sending:
            self.is_sending = True
            self.write_all(self.unsent)
            self.is_sending = False

    def write_all(self, data):
        self.unsent = b""
        data = memoryview(data)
        while data:
            readable, writable, _ = select.select([self.process.stdout], [self.process.stdin], [],
                                                  PATIENCE)
            assert readable or writable, "the server takes nothing"
            if readable:
                self.read_some()
            if writable:
                try:
                    data = data[os.write(self.process.stdin.fileno(), data[:4096]):]
                except BrokenPipeError:
                    return  # it has ended, with a status that tells

    def tell(self, method, **params):
        self.send(framed({"jsonrpc": "2.0", "method": method, "params": params}))

    def begin(self, method, **params):
        """Sends a request, and gives its id."""
        self.ids += 1
        self.send(framed({"jsonrpc": "2.0", "id": self.ids, "method": method, "params": params}))
        return self.ids

    def ask(self, method, **params):
        return self.answer(self.begin(method, **params))

    def answer(self, number):
        self.wait(lambda: number in self.answers, f"an answer to {number}")
        message = self.answers.pop(number)
        if "error" in message:
            raise Refused(message["error"])
        return message["result"]

    def refusal(self, method, **params):
        try:
            self.ask(method, **params)
        except Refused as error:
            return error.code
        return None

    def read_some(self):
        data = os.read(self.process.stdout.fileno(), 1 << 16)
        if not data:
            return False
        self.waiting += data
        while (end := self.waiting.find(b"\r\n\r\n")) >= 0:
            head = self.waiting[:end].decode("ascii")
            assert head.lower().startswith("content-length: ") and "\n" not in head, head
            start, size = end + 4, int(head.split(":")[1])
            if len(self.waiting) < start + size:
                break
            body, self.waiting = self.waiting[start:start + size], self.waiting[start + size:]
            self.take(json.loads(body.decode("utf-8")))
        return True

    def take(self, message):
        assert message["jsonrpc"] == "2.0"
        method, params = message.get("method"), message.get("params")
        if method is None and message["id"] is None:
            self.nameless.append(message["error"])
        elif method is None:
            self.answers[message["id"]] = message
        elif method == "textDocument/publishDiagnostics":
            self.diagnostics.append(params)
        elif method == "window/showMessage":
            self.shown.append(params["message"])
        elif method == "window/logMessage":
            self.logged.append(params["message"])
        else:
            assert method == "client/registerCapability", method
            self.asked.append(params)
            if not self.process.stdin.closed:
                self.send(framed({"jsonrpc": "2.0", "id": message["id"], "result": None}))

    def wait(self, condition, what):
        end = time.monotonic() + PATIENCE
        while not condition():
            left = end - time.monotonic()
            assert left > 0, f"waited in vain for {what}"
            if select.select([self.process.stdout], [], [], left)[0] and not self.read_some():
                errors = self.process.stderr.read().decode(errors="replace")
                raise AssertionError(f"the server ended before {what}: {errors}")

    # --- a session ---

    def start(self, capabilities=FULL, root=None, **more):
        answer = self.ask("initialize", processId=None, capabilities=capabilities,
                          rootUri=None if root is None else uri_of(root), **more)
        self.tell("initialized")
        return answer["capabilities"]

    def open(self, uri, text, version=1):
        self.versions[uri] = version
        self.tell("textDocument/didOpen", textDocument={
            "uri": uri, "languageId": "yaml", "version": version, "text": text})

    def change(self, uri, *changes, version=None):
        """Texts, or (range, text)."""
        self.versions[uri] = self.versions.get(uri, 0) + 1 if version is None else version
        self.tell("textDocument/didChange",
                  textDocument={"uri": uri, "version": self.versions[uri]},
                  contentChanges=[{"text": one} if isinstance(one, str) else
                                  {"range": one[0], "text": one[1]} for one in changes])

    def close(self, uri):
        self.tell("textDocument/didClose", textDocument={"uri": uri})

    def last(self, uri):
        return next((one for one in reversed(self.diagnostics) if one["uri"] == uri), None)

    def told(self, uri, version=None):
        """What is told of a version (the present one); waits for it."""
        wanted = self.versions[uri] if version is None else version
        self.wait(lambda: (self.last(uri) or {}).get("version") == wanted,
                  f"diagnostics of {uri}, version {wanted}")
        return self.last(uri)["diagnostics"]

    def settled(self, uri):
        """The same, looked at as closely as in a pause."""
        self.told(uri)
        end = time.monotonic() + 1.2
        while (left := end - time.monotonic()) > 0:
            if select.select([self.process.stdout], [], [], left)[0]:
                self.read_some()
        return self.last(uri)["diagnostics"]

    def end(self):
        """In good order; the exit status."""
        self.ask("shutdown")
        self.tell("exit")
        return self.status()

    def status(self):
        """What it ends with, once all that it said has been read."""
        end = time.monotonic() + PATIENCE
        while (left := end - time.monotonic()) > 0:
            if select.select([self.process.stdout], [], [], left)[0] and not self.read_some():
                break
        self.process.wait(PATIENCE)
        errors = self.process.stderr.read().decode(errors="replace")
        assert not errors, errors
        return self.process.returncode
