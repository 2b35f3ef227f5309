"""The JSON Schema of a machine file, read by a reader of somebody else's: every sample keeps to it,
and what is spoiled does not.

    schema.py ANSWERS SAMPLES

A key taken out of a sample is held against the reader: the schema refuses the rest exactly where
`missing-key` is found in it.
"""
import copy
import datetime
import glob
import json
import os
import subprocess
import sys
import tempfile

import jsonschema
import yaml

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import share  # noqa: E402

LOADERS = (yaml.BaseLoader, yaml.SafeLoader)  # texts as they are, or numbers and truth values
SPELLINGS = {
    "signed_length": (["42 mm", "-155.2mm", "\u22125 mm \u00b1 1 mm"], ["42", "\u00b1 1 mm", "- 5 mm"]),
    "length": (["42 mm", "155.2mm", "6 1/8 in", "1/4\"", ".5 mm", "5. mm", "1.5e-3 m",
                "42 mm \u00b1 0.5 mm", "42 \u00b1 0.5 mm", "42 mm +/- 0.5", " 3 \u00b5m "],
               ["42", "42 kg", "-155.2 mm", "mm", "five mm", "42 mm 3", "42 mm \u00b1", "42 mm/s", "", "42,5 mm"]),
    "acceleration": (["300 mm/s^2", "300 mm/s2", "0.3 m/s\u00b2", "12 in/s^2"],
                     ["300 mm/s", "300", "300 mm"]),
    "number": (["5", "1.5", "12 %"], ["5 mm", "many", ""]),
}
TEXTS = ("text", "the name of an input", "a terminal's label")
WRONG = ["5 kg", "a b", [], {"a": "b"}, "2027-3-1"]  # each is wrong for most kinds


def plain(value):
    """As JSON would have it: dates are texts."""
    return json.loads(json.dumps(value, default=datetime.date.isoformat))


def asked(answers, question, argument, path):
    done = subprocess.run([answers, question, argument, path, "20000"], capture_output=True,
                          check=False)
    return json.loads(done.stdout)


def leaves(value, way=()):
    """The ways to all that is no map and no list of maps."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, below in items:
        if isinstance(below, dict) or (isinstance(below, list) and below and
                                       isinstance(below[0], dict)):
            yield from leaves(below, way + (key,))
        else:
            yield way + (key,)


def put(root, way, value):
    """A copy of the root with the value there; None: with nothing there."""
    root = copy.deepcopy(root)
    node = root
    for key in way[:-1]:
        node = node[key]
    if value is None:
        del node[way[-1]]
    else:
        node[way[-1]] = value
    return root


def told(answers, root):
    with tempfile.NamedTemporaryFile("w", suffix=".yaml", encoding="utf-8") as file:
        yaml.safe_dump(root, file, sort_keys=False, allow_unicode=True)
        file.flush()
        evaluations = asked(answers, "report", "json", file.name)["files"][0]["evaluations"]
        return [found for found in evaluations if found["level"] == "error"]


def spoiled(answers, schema, root, texts):
    """Mistakes in one sample, one at a time; `texts`: keys at which any text may stand."""
    for way in share(leaves(root), 3):
        if any(isinstance(key, int) and key > 1 for key in way):
            continue
        without = put(root, way, None)
        missing = [found for found in told(answers, without) if found["rule"] == "missing-key"]
        if schema.is_valid(without) == bool(missing):
            yield f"without {way}: {bool(missing)} by the reader"
        taken = [value for value in WRONG if schema.is_valid(put(root, way, value))]
        if len(taken) > (3 if way[-1] in texts else 1):
            yield f"{way}: {taken} will do"
        if schema.is_valid(put(root, way[:-1] + (way[-1] + "_",), "1")):
            yield f"{way} with a letter too many is taken"


def main(answers, samples):
    wrong = []
    names = sorted(glob.glob(os.path.join(samples, "*.yaml")))
    document = asked(answers, "schema", "", names[0])
    fields = asked(answers, "fields", "", names[0])
    jsonschema.Draft202012Validator.check_schema(document)
    schema = jsonschema.Draft202012Validator(document)
    told = [one["description"] for one in document["$defs"].values() if "description" in one]
    if len(fields) < 100 or len(told) != len(fields) or \
            any(not said.startswith(field["meaning"]) or (field["how"] or "") not in said
                for said, field in zip(told, fields)):
        wrong.append("fields and schema differ")
    if asked(answers, "schema", "rulebook", names[0])["title"] == document["title"]:
        wrong.append("one schema for two kinds")
    for name in names:
        with open(name, encoding="utf-8") as file:
            text = file.read()
        for loader in LOADERS:
            for error in schema.iter_errors(plain(yaml.load(text, loader))):
                wrong.append(f"{os.path.basename(name)}: {list(error.path)}: {error.message[:200]}")
    for dimension, spellings in SPELLINGS.items():
        one = schema.evolve(schema=document["$defs"][dimension])
        wrong += [f"{text!r} is no {dimension}" for text in spellings[0] if not one.is_valid(text)]
        wrong += [f"{text!r} is a {dimension}" for text in spellings[1] if one.is_valid(text)]
    texts = {field["path"].split(".")[-1] for field in fields if field["kind"] in TEXTS}
    for name in ("assumed-lengths", "inch-router-with-plate", "router-without-homing"):
        with open(os.path.join(samples, name + ".yaml"), encoding="utf-8") as file:
            root = yaml.load(file, yaml.BaseLoader)
        wrong += [f"{name}: {text}" for text in spoiled(answers, schema, root, texts)]
    print("\n".join(wrong))
    return len(wrong) > 0


if __name__ == "__main__":
    sys.exit(main(*map(os.path.abspath, sys.argv[1:])))
