"""What --format json prints for every case, held against findings.schema.json and against the files
and the text that the same run prints.

    findings.py PROGRAM
"""
import collections
import copy
import json
import os
import re
import subprocess
import sys
import tempfile

import jsonschema

import run

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import share  # noqa: E402

ORDER = {"held": 0, "unchecked": 1, "waived": 2, "failed": 3}


def output(program, case, form, show):
    """Standard output of a case's run in this form; None where the run checks nothing."""
    arguments = [argument.decode() for argument in case.arguments]
    if "check" not in arguments or "--help" in arguments[:2]:
        return None
    for option in ("--output", "-o"):
        while option in arguments:
            at = arguments.index(option)
            del arguments[at:at + 2]
    end = arguments.index("--") if "--" in arguments else len(arguments)
    arguments[end:end] = [f"--format={form}", f"--show={show}", "--color=never"]
    with tempfile.TemporaryDirectory() as top:
        run.set_up(case, top)
        done = subprocess.run([program, *arguments], cwd=top, env=run.environment(case),
                              input=case.files.get("-", b""), capture_output=True, timeout=60,
                              check=False)
    return done.stdout if done.stdout or done.returncode < 2 else None


def lines_of(case, path):
    """Lengths in code points of the lines of a file, as the program counts them; None: not known."""
    link = os.path.join(os.path.dirname(path), case.links.get(path, os.path.basename(path)))
    data = case.files.get(link, b"")
    try:
        text = data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError:
        return None
    return [len(line) for line in re.split(r"\r\n|\r|\n", text)] if data else None


def places(case, path, spot):
    keys = [spot[key] for key in ("line", "column", "end_line", "end_column")]
    if None in keys:
        if keys != [None] * 4:
            yield f"{path}: half a place: {keys}"
        return
    lengths = lines_of(case, path)
    if (keys[0], keys[1]) > (keys[2], keys[3]):
        yield f"{path}: ends before it starts: {keys}"
    for line, column in (keys[:2], keys[2:]) if lengths else ():
        if line > len(lengths) or column > lengths[line - 1] + 1:
            yield f"{path}:{line}:{column} is no place in it"


def words(evaluation):
    message = evaluation["message"]
    if evaluation["outcome"] == "failed" and len(message) > 100:
        yield f"{len(message)} characters: {message}"
    if message.endswith(".") or "\n" in message:
        yield f"no single sentence: {message!r}"


def consistency(case, file, show):
    by_rule = collections.defaultdict(str)
    for one in file["evaluations"]:
        yield from places(case, one.get("path", file["path"]), one)
        for taker in one.get("taken_in_by", ()):
            yield from places(case, taker["path"], taker)
        yield from words(one)
        for related in one["related"]:
            yield from places(case, related["path"], related)
        if show == "failed" and one["outcome"] == "held":
            yield f"held, though --show failed: {one['rule']}"
        if ORDER[one["outcome"]] >= ORDER.get(by_rule[one["rule"]], 0):
            by_rule[one["rule"]] = one["outcome"]
        if one["outcome"] == "failed" and one["margin"] and one["margin"]["si"] > 0:
            yield f"failed with something to spare: {one['rule']}"
        if one["outcome"] == "held" and one["margin"] and one["margin"]["si"] < 0:
            yield f"held with nothing to spare: {one['rule']}"
    starts = [(one["line"] is None, one.get("path", ""), one["line"] or 0, one["column"] or 0)
              for one in file["evaluations"]]
    if starts != sorted(starts):
        yield "not in order"


def hashed(text):
    """FNV-1a, 64 bits."""
    value = 14695981039346656037
    for byte in text.encode("utf-8", "surrogateescape"):
        value = (value ^ byte) * 1099511628211 % (1 << 64)
    return f"{value:016x}"


def fingerprints(file):
    """By the recipe in the schema, but for fields of a list: who is in it only the file tells."""
    seen = set()
    for one in file["evaluations"]:
        name = one["fingerprint"]
        named = one["outcome"] in ("failed", "waived")
        if (name is not None) != named or name in seen - {None}:
            yield f"{one['rule']}: fingerprint {name}"
        seen.add(name)
        if name is None or "[" in (one["field"] or ""):
            continue
        recipe = f"{one['rule']}\n{one['subject'] or ''}\n{one['field'] or ''}\n"
        if name not in [hashed(recipe)] + [hashed(f"{recipe}{n}") for n in range(1, 1000)]:
            yield f"{one['rule']}: fingerprint {name} is not that of {recipe!r}"


def subject_of(one):
    """What is told of what; what stands there may change."""
    return one["rule"], one["subject"], one["field"], one["outcome"]


def mended(program, case, findings):
    """With the bytes of a fix put in, what it is for is not found any more; and nothing comes of one
    that was tried."""
    tried = set()
    for file in findings["files"]:
        for one in file["evaluations"]:
            for fix in one["fixes"]:
                key, data = tuple(fix.values()), case.files.get(fix["path"])
                if data is None or key in tried:
                    continue
                tried.add(key)
                other, end = copy.copy(case), fix["offset"] + fix["length"]
                other.files = {**case.files, fix["path"]: data[:fix["offset"]] +
                               fix["text"].encode() + data[end:]}
                after = json.loads(output(program, other, "json", "default"))
                if any(one["fingerprint"] == left["fingerprint"] and left["outcome"] == "failed"
                       for again in after["files"] if again["path"] == file["path"]
                       for left in again["evaluations"]):
                    yield f"{one['rule']} is found after the fix: {fix['title']}"
                known = {subject_of(again) for again in file["evaluations"]}
                for again in after["files"]:
                    for left in again["evaluations"]:
                        if fix["why"] and left["level"] != "note" and again["path"] == file["path"] \
                                and left["outcome"] == "failed" and subject_of(left) not in known:
                            yield f"{left['rule']} comes with the fix: {fix['title']}"


def own_field(one):
    """The field, where the place does not tell one finding from another: nothing stands there."""
    return one["field"] if one["line"] is None or one["rule"] == "missing-key" else None


def facts(findings, outcome="failed"):
    """(path, line, column, level, rule, field) of what people are told of, each once."""
    for file in findings["files"]:
        yield from {(one.get("path", file["path"]), one["line"], one["column"], one["level"], one["rule"],
                     own_field(one))
                    for one in file["evaluations"]
                    if one["outcome"] == outcome and not one["implied_by"]}


def told(text):
    head = re.compile(r"^(\S.*?)(?::(\d+):(\d+))?: (error|warning|note): .* \[([a-z0-9-]+)\]$", re.M)
    for path, line, column, level, rule in head.findall(text):
        yield path, int(line) if line else None, int(column) if column else None, level, rule


def check(program, case, validator):
    for show in "default", "failed", "all", "waived":
        out = output(program, case, "json", show)
        if out is None:
            return
        if re.search(rb"[^\n\x20-\x7e\x80-\xff]", out):
            yield "a control character"
        if not out:
            yield "no output"
            continue
        findings = json.loads(out)
        yield from (f"{error.json_path}: {error.message}"
                    for error in validator.iter_errors(findings))
        for file in findings["files"]:
            yield from consistency(case, file, show)
            yield from fingerprints(file)
        if show == "default":
            yield from mended(program, case, findings)
        counts = findings["counts"]
        if counts["files"] != len(findings["files"]):
            yield f"{counts['files']} files counted"
        if counts["unreadable"] != sum(f["status"] == "unreadable" for f in findings["files"]):
            yield f"{counts['unreadable']} unreadable ones counted"
        waived = list(facts(findings, "waived"))
        if not any(more.get("waived") for file in findings["files"] for more in file["more"]):
            for level in "error", "warning", "note":
                if counts["waived"][level] != sum(group[3] == level for group in waived):
                    yield f"{counts['waived'][level]} waived {level}s counted, not those listed"
        if show == "waived":
            if any(one["outcome"] != "waived" for file in findings["files"]
                   for one in file["evaluations"]):
                yield "more than what is waived"
            continue
        groups = list(facts(findings))
        if not any(file["more"] for file in findings["files"]):
            for level in "error", "warning", "note":
                if counts[level] != sum(group[3] == level for group in groups):
                    yield f"{counts[level]} {level}s counted, not those that are listed"
        text = (output(program, case, "text", show) or b"").decode()
        given, wanted = sorted(told(text), key=str), sorted((g[:5] for g in groups), key=str)
        if given != wanted:
            yield f"text tells {given}, JSON {wanted}"


def main(program):
    with open(os.path.join(run.HERE, "findings.schema.json"), encoding="utf-8") as file:
        schema = json.load(file)
    kind = getattr(jsonschema, "Draft202012Validator", jsonschema.Draft7Validator)
    kind.check_schema(schema)
    wrong = False
    for name in share(run.names(), 2):
        for complaint in check(os.path.abspath(program), run.Case(name), kind(schema)):
            wrong = True
            print(f"{name}: {complaint}")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(sys.argv[1])
