"""How long the language server takes for a keystroke, and for what an editor asks.

    speed.py PROGRAM FILE ...

Seconds from a change to the diagnostics of it, the least and the middle of many, beside a check of
the file by the command: for tests/bench.  Judges nothing.
"""
import os
import statistics
import subprocess
import sys
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

from client import FULL, Client, at, between  # noqa: E402

TIMES = 40


def timed(work, times):
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found), statistics.median(found)


def keystroke(client, uri, line):
    """A character at the end of a line, and out again."""
    place = between((line, 999), (line, 999))

    def work():
        client.change(uri, (place, " "))
        client.told(uri)
    return work


def measured(program, path):
    """(what, least, middle) of one file, in seconds."""
    with open(path, encoding="utf-8") as file:
        text = file.read()
    uri = "untitled:bench"
    with Client(program, "--today", "2026-06-01") as client:
        client.start(FULL)
        client.open(uri, text)
        client.told(uri)
        line = text.count("\n") // 2
        yield ("a keystroke", *timed(keystroke(client, uri, line), TIMES))
        place = {"textDocument": {"uri": uri}, "position": at(line, 6)}
        span = {"textDocument": {"uri": uri}, "range": between((line, 0), (line + 50, 0))}
        for what, params in (("completion", place), ("hover", place), ("documentSymbol", place), ("inlayHint", span),
                             ("codeAction", {**span, "context": {"diagnostics": []}})):
            yield (what, *timed(lambda w=what, p=params: client.ask(f"textDocument/{w}", **p), 5))
    yield ("a check by the command", *timed(lambda: subprocess.run(
        [program, "check", "--today", "2026-06-01", path], stdout=subprocess.DEVNULL, check=False), 10))


def main(program, *paths):
    for path in paths:
        for what, least, middle in measured(program, path):
            print(f"{os.path.basename(path)}: {what}: {least * 1000:.2f} ms, {middle * 1000:.2f} in the middle")


if __name__ == "__main__":
    main(*sys.argv[1:])
