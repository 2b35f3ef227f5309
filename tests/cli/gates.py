"""The forms for gates, sarif, junit, github and gitlab, against each other and against JSON.

    gates.py PROGRAM SAMPLES CHECK       one check
    gates.py --list                      the names of all checks

What fails or is waived has the same file, line, column and rule in each of them; nothing in a name
or a text of a file gets out of the place that it stands in; and where there is more than whoever
reads SARIF takes in, the least is left out, and that is said.
"""
import json
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as XML

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, ".."))
from share import FEWER, share  # noqa: E402

FORMS = ("sarif", "junit", "github", "gitlab")
OWN = {"not-read", "not-checked"}    # what a list of code quality tells of a file as a whole
ROW = re.compile(r"(.*?)(?::(\d+):(\d+))?: (?:waived )?(?:error|warning|note): .* \[([^\]]+)\]$")
ORDER = re.compile(r"::(error|warning|notice) file=([^,:]*)(?:,line=(\d+),endLine=\d+,col=(\d+),"
                   r"endColumn=\d+)?,title=([^:]*)::(.*)$")


def run(program, folder, *arguments):
    done = subprocess.run([os.path.abspath(program), "check", "--today", "2026-11-27", *arguments], cwd=folder,
                          capture_output=True, timeout=300)
    assert done.returncode in (0, 1, 2), done
    return done


def plain(text):
    return re.sub(r"%([0-9A-F]{2})", lambda found: chr(int(found[1], 16)), text)


def of_json(text):
    found = set()
    for file in json.loads(text)["files"]:
        for one in file["evaluations"]:
            if one["outcome"] == "waived" or one["outcome"] == "failed" and not one["implied_by"]:
                found.add((one.get("path") or file["path"], one["line"], one["column"], one["rule"]))
    return found


def of_sarif(text):
    found = set()
    (whole,) = json.loads(text)["runs"]
    rules = {rule["id"] for rule in whole["tool"]["driver"]["rules"]}
    for one in whole["results"]:
        place = one["locations"][0]["physicalLocation"]
        region = place.get("region", {})
        assert one["ruleId"] in rules and one["partialFingerprints"]
        found.add((plain(place["artifactLocation"]["uri"]), region.get("startLine"),
                   region.get("startColumn"), one["ruleId"]))
    return found


def of_junit(text):
    found = set()
    root = XML.fromstring(text)
    for suite in root:
        cases = suite.findall("testcase")
        for kind, count in (("failure", "failures"), ("error", "errors"), ("skipped", "skipped")):
            assert sum(case.find(kind) is not None for case in cases) == int(suite.get(count))
        assert len(cases) == int(suite.get("tests")) == len({case.get("name") for case in cases})
        for told in suite.iter():
            for line in (told.text or "").splitlines() if told.tag in ("failure", "system-out") else ():
                row = ROW.match(line)
                if row:
                    found.add((row[1], row[2] and int(row[2]), row[3] and int(row[3]), row[4]))
    return found


def of_github(text):
    found = set()
    for line in text.splitlines():
        order = ORDER.match(line)
        assert order or line.startswith("proveout: "), line
        if order and order[5] not in ("partial", "unreadable"):
            found.add((plain(order[2]), order[3] and int(order[3]), order[4] and int(order[4]),
                       plain(order[5])))
    return found


def of_gitlab(text):
    found, prints = set(), []
    for one in json.loads(text):
        begin = one["location"]["positions"]["begin"]
        prints.append(one["fingerprint"])
        if one["check_name"] not in OWN and "more are not listed" not in one["description"]:
            found.add((one["location"]["path"], begin["line"], begin["column"], one["check_name"]))
    assert len(prints) == len(set(prints)), "each has a fingerprint of its own"
    return found


def placed(found):
    """What has no place stands at the first line where a form must have one."""
    return {(file, line or 1, column or 1, rule) for file, line, column, rule in found}


def same_findings(program, samples):
    count = 0
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, "-B", os.path.join(HERE, "..", "portable", "spoil.py"), samples, folder, "3"],
                       check=True, stdout=subprocess.DEVNULL)
        names = sorted(os.path.relpath(os.path.join(place, name), folder)
                       for place, _, files in os.walk(folder) for name in files)
        names = share(names, 2)
        for i in range(0, len(names), 40):
            part = names[i:i + 40]
            want = of_json(run(program, folder, "--format", "json", *part).stdout)
            count += len(want)
            for form in FORMS:
                text = run(program, folder, "--format", form, *part).stdout.decode()
                got = globals()["of_" + form](text)
                assert placed(got) == placed(want), (form, placed(got) ^ placed(want))
    assert count > 100 / FEWER
    print(count, "places and rules, the same in five forms")


HOSTILE = "]]>&<b>\"' :: %0A::error::x, \x1b[31m\u202e \u2028 \ufffe"


def hostile(program, samples):
    """Names and messages with all that means something to one of the readers."""
    with open(os.path.join(samples, "approach-a-digit-too-deep.yaml"), encoding="utf-8") as file:
        text = file.read()
    with tempfile.TemporaryDirectory() as folder:
        names = ["a]]>&<b>\"'.yaml", "::error::x,title=y%0A.yaml", "line\nend\r\t.yaml",
                 "\u202ereversed\u2028.yaml"]
        spoilt = text.replace("6 mm end mill, two flutes", "six") + "\n" + json.dumps(HOSTILE) + ": 1\n"
        for name in names:
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                file.write(spoilt)
        for form in FORMS:
            done = run(program, folder, "--format", form, *("./" + name for name in names))
            text = done.stdout.decode()
            bad = [c for c in text if c != "\n" and (c < " " or c == "\x7f" or c in "\u202e\u2028" or
                                                  c == "\ufffe" and form == "junit")]
            assert not bad, (form, bad)
            if form == "junit":
                assert len(XML.fromstring(text)) == len(names)
            elif form == "github":
                # a colon or comma of a name is written by its number
                assert len(of_github(text)) >= 2 * len(names)
                assert "::error::x" not in [line[:10] for line in text.splitlines()]
            else:
                files = {one[0] for one in globals()["of_" + form](text)}
                assert len(files) == len(names), files
                if form == "gitlab":
                    assert files == set(names)


def limits(program, samples):
    """Notes and warnings first, then more errors than are taken in."""
    with open(os.path.join(samples, "approach-a-digit-too-deep.yaml"), encoding="utf-8") as file:
        text = file.read()
    with tempfile.TemporaryDirectory() as folder:
        for i in range(30):
            with open(os.path.join(folder, f"a-{i:02}.yaml"), "w", encoding="utf-8") as file:
                file.write(text.replace("reseat:", "reseat: 0.001 mm\n  # reseat:"))
        for i in range(28):
            with open(os.path.join(folder, f"z-{i:02}.yaml"), "w", encoding="utf-8") as file:
                file.write("proveout: 1\n" + "".join(f"none_{k}: 1\n" for k in range(1000)))
        done = [run(program, folder, "--format", "sarif", "-j", jobs, ".") for jobs in ("1", "2")]
        assert done[0].stdout == done[1].stdout, "bytes do not depend on the number of jobs"
        whole = json.loads(done[0].stdout)["runs"][0]
        counts = json.loads(run(program, folder, "--format", "json", ".").stdout)["counts"]
        (told,) = [one["message"]["text"]
                   for one in whole["invocations"][0]["toolExecutionNotifications"]
                   if "results are left out" in one["message"]["text"]]
        assert len(whole["results"]) <= 25000 and len(done[0].stdout) <= 10_000_000
        assert all(one["level"] == "error" for one in whole["results"]), "the gravest are kept"
        assert len(whole["results"]) + int(told.split()[0]) == \
            counts["error"] + counts["warning"] + counts["note"], told


def fingerprints(program, samples):
    """Moved lines and another order of cutters leave them as they are; so does another cutter that
    fails at the same place."""
    with open(os.path.join(samples, "approach-a-digit-too-deep.yaml"), encoding="utf-8") as file:
        text = file.read()
    head, _, rest = text.partition("\ncutters:\n")
    rows = re.split(r"(?m)^(?=  - )", rest.split("\n\n")[0] + "\n")
    assert len(rows) > 3
    tail = rest[len(rest.split("\n\n")[0]):]
    turned = head + "\n# a line more\n\ncutters:\n" + rows[0] + "".join(reversed(rows[1:])) + tail
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for version in (text, turned):
            with open(os.path.join(folder, "m.yaml"), "w", encoding="utf-8") as file:
                file.write(version)
            whole = json.loads(run(program, folder, "--format", "sarif", "m.yaml").stdout)["runs"][0]
            found.append({(one["ruleId"], *one["partialFingerprints"].values())
                          for one in whole["results"]})
    assert found[0] and found[0] == found[1], found


CHECKS = {"the same findings": same_findings, "hostile texts": hostile, "limits": limits,
          "fingerprints": fingerprints}

if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(name.replace(" ", "-") for name in CHECKS))
        sys.exit()
    CHECKS[sys.argv[3].replace("-", " ")](sys.argv[1], sys.argv[2])
