"""Sheets held against their files: what has changed is told, and nothing else.

    compare.py PROGRAM same|changed|rewritten|waived

same       the sheet of every sample is that of its file; so it is after a comment, which is said
changed    one value after the other (a share, or all with SHARE=all) is changed in a sample: its
           field is named, with both values
rewritten  as a browser saves it: attributes in another order, quoted and escaped otherwise
waived     a waiver that has run out since the sheet was made
"""
import glob
import html
import html.parser
import json
import os
import re
import subprocess
import sys
import tempfile

import yaml

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.join(HERE, "..", "..")
sys.path.insert(0, os.path.join(HERE, ".."))
from share import share  # noqa: E402

SAMPLES = os.path.join(TOP, "sample-configs")
TODAY = "2026-11-27"


def run(program, *arguments):
    return subprocess.run([program, *arguments], capture_output=True, timeout=60, check=False,
                          stdin=subprocess.DEVNULL)


def make(program, path, today=TODAY):
    sheet = path + ".html"
    done = run(program, "sheet", "--today", today, path, "-o", sheet)
    return sheet if done.returncode in (0, 1) else None


def compare(program, path, sheet, today=TODAY):
    done = run(program, "check", "--format", "json", "--today", today, "--sheet", sheet, path)
    return done.returncode, json.loads(done.stdout) if done.returncode in (0, 1) else None


def copies(folder):
    """Samples that take in no other file, as paths in a folder."""
    for name in sorted(glob.glob(os.path.join(SAMPLES, "*.yaml"))):
        with open(name, encoding="utf-8") as file:
            text = file.read()
        if "extends:" in text or "from:" in text:
            continue
        path = os.path.join(folder, os.path.basename(name))
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        yield path, text


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)


def same(program):
    with tempfile.TemporaryDirectory() as folder:
        for path, text in copies(folder):
            sheet = make(program, path)
            status, said = compare(program, path, sheet)
            if status != 0 or not said["same"]:
                yield path, f"is not its own sheet: {status}"
            write(path, text + "# written anew\n")
            plain = run(program, "check", "--today", TODAY, "--sheet", sheet, path)
            if plain.returncode or b"no value differs" not in plain.stdout:
                yield path, "a comment is not told apart from a value"


def scalars(node, path=""):
    """(path with [] for what stands in a list, node) of each scalar that can be changed."""
    if isinstance(node, yaml.MappingNode):
        if "readings" in {key.value for key, _ in node.value}:
            return
        for key, value in node.value:
            yield from scalars(value, f"{path}.{key.value}" if path else key.value)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            if isinstance(value, yaml.MappingNode):
                yield from scalars(value, f"{path}[]")
    elif re.fullmatch(r"-?\d+(\.\d+)?( \S+)?", node.value):
        yield path, node


def bare(path):
    return re.sub(r"\[[^\]]*\]", "[]", path)


def changed(program):
    with tempfile.TemporaryDirectory() as folder:
        for path, text in share(list(copies(folder)), 8):
            sheet = make(program, path)
            tried = 0
            for field, node in scalars(yaml.compose(text)):
                number, _, unit = node.value.partition(" ")
                other = f"{float(number) + 1:g}" + (f" {unit}" if unit else "")
                if field == "proveout":
                    continue
                write(path, text[:node.start_mark.index] + other + text[node.end_mark.index:])
                status, said = compare(program, path, sheet)
                if status == 2:
                    continue
                tried += 1
                told = {bare(one["field"]): one for one in said["values"]}
                name = bare(field)
                # A record that is called otherwise is another record.
                if name.endswith("[].number") or name.endswith("[].name"):
                    if not told:
                        yield path, f"{field}: nothing is told"
                elif set(told) != {name}:
                    yield path, f"{field} {node.value} -> {other}: told {sorted(told)}"
                elif not told[name]["sheet"] or told[name]["sheet"] == told[name]["file"]:
                    yield path, f"{field}: {told[name]}"
            if tried < 10:
                yield path, f"only {tried} values were tried"


class Rewriter(html.parser.HTMLParser):
    """The page anew, as another program would write it."""

    def __init__(self):
        super().__init__(convert_charrefs=False)
        self.out = []

    def handle_decl(self, decl):
        self.out.append(f"<!{decl}>")

    def handle_starttag(self, tag, attrs):
        told = "".join(f"\n {name}='" + html.escape(value or "", quote=False).replace(
            "'", "&#39;").replace("\u00b1", "&#xB1;") + "'" for name, value in reversed(attrs))
        self.out.append(f"<{tag}{told}>")

    def handle_endtag(self, tag):
        self.out.append(f"</{tag}>")

    def handle_data(self, data):
        self.out.append(data)

    def handle_entityref(self, name):
        self.out.append(f"&{name};")

    def handle_charref(self, name):
        self.out.append(f"&#{name};")


def rewritten(program):
    with tempfile.TemporaryDirectory() as folder:
        for path, _ in share(list(copies(folder)), 8):
            sheet = make(program, path)
            rewriter = Rewriter()
            with open(sheet, encoding="utf-8") as file:
                rewriter.feed(file.read())
            write(sheet, "".join(rewriter.out) + "\n\n")
            status, said = compare(program, path, sheet)
            if status != 0:
                yield path, f"written anew it is not the same: {status} {str(said)[:200]}"


WAIVER = """
waivers:
  - {rule: stroke-too-short, reason: "new script is ordered", until: 2026-12-31}
"""


def waived(program):
    """A sample that fails, with a waiver that ends: before that day, and after it."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "short.yaml")
        sample = os.path.join(SAMPLES, "stroke-too-short-for-the-short-cutter.yaml")
        with open(sample, encoding="utf-8") as file:
            text = file.read()
        rule = next(one["rule"] for one in json.loads(
            run(program, "check", "--format", "json", "--today", TODAY, sample).stdout)
            ["files"][0]["evaluations"] if one["outcome"] == "failed")
        write(path, text + WAIVER.replace("stroke-too-short", rule))
        sheet = make(program, path)
        status, said = compare(program, path, sheet)
        if status != 0:
            yield path, f"it differs on the same day: {said}"
        status, said = compare(program, path, sheet, "2027-01-01")
        if status != 1 or said["values"] or not any(
                one["sheet"] == "waived until 2026-12-31" and one["file"] == "failed, error"
                for one in said["findings"]):
            yield path, f"a waiver that has run out is not told: {status} {said}"


def main(program, what):
    wrong = list({"same": same, "changed": changed, "rewritten": rewritten,
                  "waived": waived}[what](os.path.abspath(program)))
    for path, one in wrong[:12]:
        print(f"{os.path.basename(path)}: {one}")
    print(f"{what}: {len(wrong)} complaints")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
