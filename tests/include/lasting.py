"""A finding keeps its fingerprint when records change places, keys stand in another order, and
comments are written between them.

    lasting.py ANSWERS SAMPLES
"""
import glob
import json
import os
import shutil
import subprocess
import sys
import tempfile

import yaml

LISTS = ("cutters", "obstacles", "attachments", "agrees_with", "waivers")


def found(answers, folder, text):
    """The fingerprints of what failed, and what it is."""
    with tempfile.NamedTemporaryFile("w", suffix=".yaml", encoding="utf-8", dir=folder) as file:
        file.write(text)
        file.flush()
        done = subprocess.run([answers, "report", "json", file.name, "20000"],
                              capture_output=True, check=True)
    return {one["fingerprint"]: (f"{one['rule']} of {one['subject']}", one["field"])
            for one in json.loads(done.stdout)["files"][0]["evaluations"] if one["fingerprint"]}


def turned(value):
    """The same with its keys the other way round, but for the first of the file."""
    if isinstance(value, dict):
        return {key: turned(value[key]) for key in reversed(value)}
    return [turned(item) for item in value] if isinstance(value, list) else value


def moved(root):
    root = {"proveout": root.pop("proveout"), **turned(root)}
    for key in LISTS:
        root[key] = root[key][::-1] if key in root else []
    text = yaml.safe_dump({key: value for key, value in root.items() if value},
                          sort_keys=False, allow_unicode=True)
    return "".join(f"# above it\n{line}\n" for line in text.splitlines())


def main(answers, samples):
    """Beside copies of the samples, for what a machine file names lies beside it."""
    with tempfile.TemporaryDirectory() as folder:
        return compare(answers, shutil.copytree(samples, os.path.join(folder, "samples")))


def compare(answers, samples):
    wrong = compared = places = 0
    for name in sorted(glob.glob(os.path.join(samples, "*.yaml"))):
        with open(name, encoding="utf-8") as file:
            text = file.read()
        before = found(answers, samples, text)
        after = found(answers, samples, moved(yaml.load(text, yaml.BaseLoader)))
        compared += len(before)
        places += sum(before[one][1] != after[one][1] for one in set(before) & set(after))
        for one in sorted(set(before) ^ set(after)):
            wrong += 1
            print(f"{os.path.basename(name)}: {(before.get(one) or after.get(one))[0]} is "
                  f"{'lost' if one in before else 'new'}")
    print(f"{compared} compared, {wrong} differ, {places} stand elsewhere")
    return wrong > 0 or compared < 20 or not places


if __name__ == "__main__":
    sys.exit(main(*map(os.path.abspath, sys.argv[1:])))
