"""Whole files: what the schemas take and refuse, held against what the program says of them.

    verdicts.py PROGRAM SAME

Every sample, every machine file of the tests, and copies spoilt in one place: a file in which no
mistake of form is found is valid, and one with a mistake that a schema can express (cases.py lists
them) is refused; whether the reader of YAML leaves plain texts texts or makes numbers and truth
values of them (of a share).  Of the copies a share, or all with SHARE=all.
"""
import collections
import datetime
import json
import subprocess
import sys

import jsonschema
import yaml

import cases
import share

LEAST = {("machine", True): 300, ("machine", False): 600, ("rulebook", True): 100,
         ("rulebook", False): 100}


def plain(value):
    """As JSON would have it: dates are texts, and so is what is no number there."""
    text = json.dumps(value, default=datetime.date.isoformat)
    return json.loads(text, parse_constant=str)


def schema_of(program, kind):
    done = subprocess.run([program, "schema", kind], capture_output=True, check=True)
    document = json.loads(done.stdout)
    jsonschema.Draft202012Validator.check_schema(document)
    return jsonschema.Draft202012Validator(document)


def readings(case):
    """What readers of YAML make of the text."""
    for loader in (cases.Texts, yaml.CSafeLoader):
        if loader is cases.Texts and "<<" in case.text:
            continue
        if loader is not cases.Texts and not share.is_drawn(case.name, 3):
            continue
        try:
            yield loader.__name__, plain(yaml.load(case.text, loader))
        except (yaml.YAMLError, ValueError, TypeError):
            continue


def why(schema, value):
    error = jsonschema.exceptions.best_match(schema.iter_errors(value))
    return f"{'.'.join(map(str, error.absolute_path))}: {error.message[:160]}"


def main(program, _same):
    schemas = {kind: schema_of(program, kind) for kind in ("machine", "rulebook", "policy", "known", "agreements")}
    counts, wrong = collections.Counter(), []
    for case in cases.cases(program):
        counts[case.kind, case.verdict] += 1
        schema = schemas[case.kind]
        for loader, value in readings(case) if case.verdict is not None else ():
            if case.verdict and not schema.is_valid(value):
                wrong.append(f"{case.name}: refused ({loader}): {why(schema, value)}")
            elif not case.verdict and schema.is_valid(value):
                wrong.append(f"{case.name}: taken ({loader})")
    print("\n".join(wrong[:60]))
    for kind in schemas:
        print(f"{kind}: {counts[kind, True]} without a mistake of form, {counts[kind, False]} with one "
              f"that a schema can express, {counts[kind, None]} with another")
    print(f"{len(wrong)} judged otherwise")
    short = [key for key, least in LEAST.items() if counts[key] < least / share.FEWER]
    print("".join(f"too few: {key}\n" for key in short), end="")
    return 1 if wrong or short else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
