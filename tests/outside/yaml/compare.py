#!/usr/bin/env python3
"""Compares the reader with the YAML test suite: compare.py DUMP SUITE

Each case of the suite gives a text and the events that it stands for, in a notation of its own, which
DUMP prints of our tree as well.  Compared are all cases of one document.  Where it has no keys at its top,
which the reader refuses, it is indented below a key first, if that leaves its meaning alone.

Left out, by what the suite expects and not by what the reader says: several documents, and keys that are
lists or maps.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

# libyaml is stricter than YAML 1.2 about tabs, colons in brackets and odd names, and refuses these.
# One that it no longer refuses must leave the list.
REFUSED = set("""
    2JQS 2SXE 4ABK 4MUZ-0 4MUZ-1 4MUZ-2 58MP 5MUD 5T43 6BCT 6M2F 8XYN 96NN-0 9SA2 A2M4 CFD4 DBG4
    DK95-0 FRK4 HM87-0 K3WX NHX8 NJ66 Q5MG R4YG S3PD SM9W-1 UKK6-0 VJP3-1 W5VH Y79Y-10
""".split())
# It reads these otherwise: an empty line at the end of a file without a last line end, `?` in
# brackets, a colon in a name; and of Y79Y-1, whose text is a single tab, we make an empty text.
READ_OTHERWISE = set("""
    652Z HM87-1 L24T-1 Y2GN Y79Y-1
""".split())
# YAML forbids these and they are read all the same: they are lenient in indentation inside quotes and
# brackets, in comments, and in lines that hold nothing but tabs.
ACCEPTED = set("""
    9C9N DK95-1 QB6E S98Z SU5Z X4QW Y79Y-0
""".split())
COMPARED_LEAST = 206
REFUSED_LEAST = 86


def events(tree):
    """The events between the document's start and end, without names, tags and notes on style."""
    lines = [line.lstrip(" ") for line in tree.split("\n")]
    first = next(i for i, line in enumerate(lines) if line.startswith("+DOC")) + 1
    last = next(i for i, line in enumerate(lines) if line.startswith("-DOC"))
    result = []
    for line in lines[first:last]:
        line = re.sub(r"^([+=]\w+)(?: \[\]| \{\})?", r"\1", line)
        line = re.sub(r"^([+=](?:MAP|SEQ|VAL))(?: &\S+)?(?: <[^>]*>)?", r"\1", line)
        result.append(line)
    return result


def has_other_keys(lines):
    """Is some key a list or a map?"""
    stack = []
    for line in lines:
        if line[0] == "-":
            stack.pop()
            continue
        if stack and stack[-1] is not None:
            if stack[-1] == "key" and line[0] == "+":
                return True
            stack[-1] = "value" if stack[-1] == "key" else "key"
        if line[0] == "+":
            stack.append("key" if line == "+MAP" else None)
    return False


def below_key(text):
    """The text as the value of a key, or None where that would change it."""
    text = re.sub(r"^\.\.\.\n\Z", "", text, flags=re.M)
    match = re.match(r"---(?=[ \n])", text)
    text = text[3:] if match else "\n" + text
    if re.search(r"^(---|\.\.\.|%|\t|\ufeff)", text, re.M):
        return None
    return "r:" + re.sub(r"(?<=\n)(?=.)", "  ", text)


def prepare(case):
    """The text to read and the events to get, or None."""
    if case["tree"].count("+DOC") != 1 or "-DOC" not in case["tree"]:
        return None
    wanted = events(case["tree"])
    if not wanted or has_other_keys(wanted):
        return None
    if wanted[0] == "+MAP":
        return case["yaml"], wanted
    text = below_key(case["yaml"])
    if text is None or wanted == ["=VAL :"]:
        return None
    return text, ["+MAP", "=VAL :r", *wanted, "-MAP"]


def read_all(dump, texts):
    with tempfile.TemporaryDirectory() as folder:
        names = []
        for number, text in enumerate(texts):
            name = pathlib.Path(folder, str(number))
            name.write_bytes(text.encode())
            names.append(str(name))
        out = subprocess.run([dump, *names], check=True, capture_output=True).stdout.decode()
    for block in out.split("\n\n")[:-1]:
        lines = block.split("\n")
        yield (lines[0], [line for line in lines[1:] if line[0] != "!"],
               [line for line in lines if line[0] == "!"])


def main():
    dump, suite = sys.argv[1:]
    cases = json.loads(pathlib.Path(suite).read_text())["cases"]
    faults = []
    chosen = [(case, *pair) for case in cases if not case.get("fail")
              for pair in [prepare(case)] if pair]
    results = read_all(dump, [text for _, text, _ in chosen])
    for (case, text, wanted), (status, got, found) in zip(chosen, results):
        name = case["id"]
        refused, differs = status != "= whole" or found != [], got != wanted
        if refused != (name in REFUSED):
            faults.append(f"{name}: refused is {refused}: {found}\n{text}")
        elif not refused and differs != (name in READ_OTHERWISE):
            faults.append(f"{name}: differs is {differs}\n{text}\nwanted {wanted}\ngot    {got}")
    bad = [case for case in cases if case.get("fail") and case["tree"].count("+DOC") < 2]
    refused_count = 0
    for case, (status, _, found) in zip(bad, read_all(dump, [case["yaml"] for case in bad])):
        if bool(found) == (case["id"] in ACCEPTED):
            faults.append(f"{case['id']}: found {found} in what YAML forbids\n{case['yaml']}")
        refused_count += bool(found)
    compared = len(chosen) - len(REFUSED)
    print(f"{compared} texts of the suite compared, {len(READ_OTHERWISE)} of them known to be read otherwise; "
          f"{len(REFUSED)} known to be refused; "
          f"{refused_count} of {len(bad)} that YAML forbids are refused")
    for fault in faults:
        print(fault)
    return bool(faults) or compared < COMPARED_LEAST or refused_count < REFUSED_LEAST


if __name__ == "__main__":
    sys.exit(main())
