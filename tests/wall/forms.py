"""Blank forms of measuring, as pages, held against the text form and against `explain`.

    forms.py PROGRAM round|first|hostile

round    of every sample machine, as it is and after work on all of it: every row of the text form,
         in its order, with as many boxes, its caution and what the file has; nothing else
first    without a file: every field that the format needs, with the condition that `explain` names
hostile  names that would end a text, an attribute or the page, and one of 10,000 letters
"""
import html
import html.parser
import json
import os
import re
import shutil
import sys
import tempfile

import yaml

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from sheets import EVIL, SAMPLES, TOP, check_page, plain, run, spoilt, tell  # noqa: E402
from share import FEWER, is_drawn  # noqa: E402

LEAST_HEIGHT = 11  # mm: 8 to write in, and the label above
LEAST_WIDTH = 25
PAGE = 180
ELSEWHERE = "Not on this form, since it stands in "


class Form(html.parser.HTMLParser):
    """Its rows: path, texts, boxes, ticks; what stands before the first and behind is `rest`."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.rows, self.rest, self.wrong, self.within = [], [], [], []
        self.in_row = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.in_row = (self.in_row or tag == "h3") and tag != "h2"
        if tag == "h3":
            self.rows.append({"path": given.get("data-field"), "text": "", "boxes": [],
                              "ticks": []})
        if tag == "ul":
            self.within.append(given.get("class"))
            if not given.get("aria-label") and given.get("class"):
                self.wrong.append("boxes for nothing")
        if tag == "li" and self.within[-1] in ("boxes", "ticks"):
            if self.in_row:
                self.rows[-1][self.within[-1]].append("")
            self.measure(given["style"], self.within[-1] == "boxes")

    def measure(self, style, is_box):
        size = {name: float(mm) for name, mm in re.findall(r"(width|height):([\d.]+)mm", style)}
        if size["width"] > PAGE:
            self.wrong.append(f"{style} is wider than the page")
        if is_box and (size["height"] < LEAST_HEIGHT or size["width"] < LEAST_WIDTH):
            self.wrong.append(f"{style} is too small to write in")

    def handle_endtag(self, tag):
        if tag == "ul":
            self.within.pop()

    def handle_data(self, data):
        if not self.in_row:
            self.rest.append(data)
            return
        row = self.rows[-1]
        kind = self.within[-1] if self.within else None
        if kind in ("boxes", "ticks"):
            row[kind][-1] += data.strip()
        else:
            row["text"] += data + " "


def text_rows(text):
    """The rows of the text form: path, texts for people, how many boxes."""
    rows, in_row = [], False
    for line in text.split("\n"):
        in_row = (in_row or line.startswith("= ")) and not line.startswith(("#", "end:"))
        if match := re.match(r"= (.*?)(?:, unit (\S+))?$", line):
            rows.append({"path": match[1], "unit": match[2], "text": "", "boxes": 0})
        elif in_row and line.startswith("  | "):
            rows[-1]["text"] += line[4:] + " "
        elif in_row and line.startswith("  ["):
            rows[-1]["boxes"] += line.count("[____")
    return rows


def stops(pairs):
    """(heading, cautions) of each stop, from its heading and what stands before its first row."""
    return [(heading, re.findall(r"CAUTION: (?:(?!CAUTION: ).)*[^ ]", plain(told)))
            for heading, told in pairs]


def same_stops(page, text):
    """The stops of the text form, each with its cautions before its first row."""
    mine = stops((html.unescape(heading), html.unescape(re.sub("<[^>]*>", " ", told)))
                 for heading, told in re.findall(r"(?s)<h2>(At .*?|For .*?)</h2>(.*?)<h3", page))
    other = stops((heading, told.replace("  | ", " "))
                  for heading, told in re.findall(r"(?ms)^# (At .*?|For .*?)$(.*?)^=", text))
    if mine != other:
        yield f"stops {mine}, not {other}"
    for heading, cautions in mine:
        if "cutter" in heading and not any("isolate" in one for one in cautions):
            yield f"{heading}: no caution before hands go in"


def made(program, *arguments):
    done = run(program, "sheet", "--blank", "--today", "2026-11-27", *arguments)
    if done.returncode:
        return None, [f"status {done.returncode}: {done.stderr[:200]}"]
    text = done.stdout.decode("utf-8")
    form = Form(text)
    form.page = text
    wrong = list(check_page(text)) + form.wrong
    if "proveout-sheet" in text:
        wrong.append("it could be taken for a sheet")
    count = re.search(r"The form has (\d+) rows?,", plain(text))
    if not count or int(count[1]) != len(form.rows):
        wrong.append(f"{len(form.rows)} rows, but it tells of {count and count[1]}")
    for at, row in enumerate(form.rows):
        if not row["text"].startswith(f"{at + 1}. {row['path']}"):
            wrong.append(f"row {at + 1} is {row['text'][:40]!r}")
        if not row["boxes"] and not row["ticks"]:
            wrong.append(f"{row['path']}: nowhere to write")
    return form, wrong


def same_row(mine, other):
    """One row of the page against the same of the text form."""
    path = other["path"]
    readings = [box for box in mine["boxes"] if box.startswith("reading ")]
    if other["unit"] and len(readings) != other["boxes"]:
        yield f"{path}: {len(readings)} boxes, {other['boxes']} in the text form"
    if other["unit"] and f", in {other['unit']} " not in mine["text"]:
        yield f"{path}: its unit {other['unit']} is not told"
    told = plain(mine["text"]).replace("±", "+/-")
    isolated = "spindle isolated or unplugged before hands go in"
    if (f"( ) {isolated}" in plain(other["text"])) != (isolated in mine["ticks"]):
        yield f"{path}: the isolated spindle"
    for sentence in re.split(r"\( \) " + isolated, plain(other["text"])):
        for part in re.split(r"As above\.|In the file: |One of: .*", sentence):
            if plain(part) not in told:
                yield f"{path}: {plain(part)[:60]!r} is not told"


def compare(program, path):
    """What is wrong with the form of a machine, and how many rows were looked at."""
    form, wrong = made(program, path)
    done = run(program, "measure", "--form", path)
    if form is None or done.returncode:
        return wrong + [f"measure --form: {done.stderr[:200]}"] * (done.returncode != 0), 0
    text = done.stdout.decode("utf-8")
    rows = text_rows(text)
    if [row["path"] for row in rows] != [row["path"] for row in form.rows]:
        wrong.append(f"rows {[row['path'] for row in form.rows]}, not those of the text form")
        return wrong, 0
    for mine, other in zip(form.rows, rows):
        wrong += same_row(mine, other)
    wrong += same_stops(form.page, text)
    told = plain("".join(form.rest))
    for line in text.split("\n"):
        if line.startswith("# " + ELSEWHERE) and plain(line[2:]) not in told:
            wrong.append(f"{line} is not told")
    return wrong, len(rows)


def worked_on(source):
    """The same machine after work on all of it: what was measured before is old then."""
    return re.sub(r"(?m)^machine:\n", "machine:\n  last_worked_on: 2026-11-26\n",
                  re.sub(r"(?m)^  last_worked_on:.*\n", "", source), count=1)


def lacking(source):
    """The same without some of what rules want."""
    return re.sub(r"(?m)^ +(release|body|acceleration|diameter|run_up|gantry_underside):.*\n", "",
                  source)


def rounds(program):
    found, rows = {}, 0
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(os.path.join(TOP, "sample-configs"), folder, dirs_exist_ok=True)
        for sample in SAMPLES:
            if not is_drawn(os.path.basename(sample), 1):
                continue
            path = os.path.join(folder, os.path.relpath(sample, os.path.join(TOP, "sample-configs")))
            with open(path, encoding="utf-8") as file:
                source = file.read()
            for kind, change in (("", str), (", after work", worked_on), (", lacking", lacking)):
                with open(path, "w", encoding="utf-8") as file:
                    file.write(change(source))
                if run(program, "check", path).returncode not in (0, 1):
                    continue
                found[os.path.basename(path) + kind], count = compare(program, path)
                rows += count
            with open(path, "w", encoding="utf-8") as file:
                file.write(source)
    print(f"{rows} rows")
    if rows < 300 / FEWER:
        found["all"] = ["these are too few"]
    return found


# --- without a file ---

OTHERS = {"agrees_with", "waivers", "proveout"}  # nobody measures these


def needed(program):
    """Every field that the format needs, by its path with the others of its list: its condition,
    "" where it is always needed.  Sections are those that samples have."""
    sections = set()
    for sample in SAMPLES:
        with open(sample, encoding="utf-8") as file:
            sections |= set(yaml.safe_load(file) or {})
    found = {}
    for section in sorted(sections - OTHERS):
        done = run(program, "explain", section)
        if done.returncode:
            continue  # no section of fields: log, extends
        paths = re.findall(r"(?m)^  ([a-z_]+[.*a-z_\[\]]*\S*)  ", done.stdout.decode())
        texts = run(program, "explain", *paths).stdout.decode()
        heads = "|".join(map(re.escape, paths))
        parts = re.split(rf"(?m)^(?=(?:{heads}): )", texts)[1:]
        assert len(parts) == len(paths), section
        for path, text in zip(paths, parts):
            assert text.startswith(path + ":"), (path, text[:40])
            need = re.search(r"(?m)^  needed +((?:.*\n)(?: {10,}.*\n)*)", text)
            need = plain(need[1]) if need else ""
            if need.startswith("where "):
                found[path] = need
            elif need.startswith(("always", "wherever")):
                found[path] = ""
    return found


def rows_of(path):
    """The rows that a general path stands for."""
    if path.startswith(("axes.*", "homing.*")):
        return [path.replace("*", letter) for letter in "xyz"]
    if path.startswith("inputs.*"):
        return [path.replace("*", name) for name in ("setter", "plate")]
    if path.startswith("cutters[]"):
        return [path.replace("[]", f"[{number}]") for number in (1, 2, 3)]
    return [path.replace("[]", "[1]")]


def first(program):
    form, wrong = made(program)
    if form is None:
        return {"form": wrong}
    rows = {row["path"]: row for row in form.rows}
    if len(rows) < len(form.rows):
        wrong.append("a row is there twice")
    fields = needed(program)
    if len(fields) < 60:
        wrong.append(f"only {len(fields)} fields are needed")
    for path, condition in fields.items():
        if path == "machine.name":
            if "machine.name: " not in "".join(form.rest):
                wrong.append("the head has no room for the machine")
            continue
        if path.startswith("setters[]."):
            continue  # as of the one setter; the end of the form tells
        for one in rows_of(path):
            if one not in rows:
                wrong.append(f"{one} is not on it")
            elif condition and f"Only {condition}: " not in plain(rows[one]["text"]):
                wrong.append(f"{one} is asked of every machine, but needed {condition}")
    if "setters than there is room for" not in plain("".join(form.rest)):
        wrong.append("what to do with several setters is not told")
    return {"form": wrong}


# --- hostile ---


def hostile(program):
    with open(os.path.join(TOP, "sample-configs", "laser-head-left-down.yaml"), encoding="utf-8") as file:
        good = lacking(worked_on(file.read()))
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for at, evil in enumerate(EVIL):
            _, text = spoilt(good, evil)
            path = os.path.join(folder, f"evil{at}.yaml")
            with open(path, "w", encoding="utf-8") as file:
                file.write(text)
            form, wrong = made(program, path)
            source = run(program, "sheet", "--blank", path).stdout.decode()
            if form and not any("attachments" in row["path"] for row in form.rows):
                wrong.append("what hangs on the spindle has no row")
            for part in ("<script", "<base", "<b ", "\u202e", "\x1b"):
                if part in source:
                    wrong.append(f"{part!r} came through")
            if len(source) > 200_000:
                wrong.append(f"{len(source)} bytes")
            found[f"name {at}"] = wrong
    return found


def main(program, what):
    kinds = {"round": rounds, "first": first, "hostile": hostile}
    tell(kinds[what](os.path.abspath(program)), "forms")


if __name__ == "__main__":
    main(*sys.argv[1:])
