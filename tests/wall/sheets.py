"""Whole sheets, looked at without knowing how they were made.

    sheets.py PROGRAM samples|random|hostile|many|named

samples  every sample machine: markup that closes what it opens and loads nothing, pages numbered
         from first to last, headings that something follows, every value that stands in the file as
         a row with its text, every finding and every question told
random   the same of machines made at random (a share, or all with SHARE=all)
hostile  names that would end a text, an attribute or the page, and one of 10,000 letters
many     500 cutters: a row for each, under 2 MB
named    which cutters could not be checked: each of them, none of the others

The bar of a margin is on every sheet as long as the numbers beside it say.
"""
import collections
import glob
import html.parser
import json
import os
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree

import yaml

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.join(HERE, "..", "..")
sys.path[:0] = [os.path.join(HERE, ".."), os.path.join(HERE, "..", "outside", "model")]
import generate  # noqa: E402
from share import share  # noqa: E402



def is_machine(path):
    """Of machines in part as well; no policy and no rulebook."""
    with open(path, encoding="utf-8") as file:
        return re.search("^proveout: ", file.read(), re.M) is not None


SAMPLES = sorted(filter(is_machine, glob.glob(os.path.join(TOP, "sample-configs", "**", "*.yaml"), recursive=True)))
EMPTY = {"meta", "col", "br", "input"}
RANDOM = 60
MOST = 2_000_000  # bytes


class Page(html.parser.HTMLParser):
    """What a viewer would make of it, and what it could do."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.rows, self.texts = [], [], {}, []
        self.pages, self.heads, self.names = 0, [], set()
        self.following = collections.defaultdict(int)  # blocks behind each heading
        self.headings = 0

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        for name, value in attrs:
            if name in ("src", "href", "action", "xlink:href") or name.startswith("on"):
                self.wrong.append(f"{tag} has {name}")
            if name == "id":
                if value in self.names:
                    self.wrong.append(f"id {value} twice")
                self.names.add(value)
        if tag in ("script", "link", "iframe", "object", "img", "base"):
            self.wrong.append(f"there is a {tag}")
        if tag == "section" and given.get("class", "").split()[:1] == ["page"]:
            self.pages += 1
        if tag == "h2":
            self.headings += 1
        elif tag in ("p", "li", "tr", "svg"):
            self.following[self.headings] += 1
        if tag == "tr" and "data-field" in given:
            self.rows[given["data-field"]] = given.get("data-value")
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.open.pop()

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(f"{tag} is closed where it is not open, line {self.getpos()[0]}")

    def handle_data(self, data):
        if "style" not in self.open:
            self.texts.append(data)


def run(program, *arguments):
    return subprocess.run([program, *arguments], capture_output=True, timeout=300, check=False,
                          stdin=subprocess.DEVNULL)


def plain(text):
    """A text as it is told, without what lines and blanks make of it."""
    return re.sub(r"\s+", " ", text).strip()


def values(node, path=""):
    """(path, scalar) of everything below a node of a file; None for what is no plain scalar."""
    if isinstance(node, yaml.MappingNode):
        keys = {key.value for key, _ in node.value}
        if "readings" in keys:
            yield path, None
            return
        for key, value in node.value:
            yield from values(value, f"{path}.{key.value}" if path else key.value)
    elif isinstance(node, yaml.SequenceNode):
        for at, value in enumerate(node.value):
            if isinstance(value, yaml.MappingNode):
                yield from values(value, f"{path}[{at}]")
            else:
                yield path, None
                return
    else:
        yield path, node.value


def keyed(path):
    """The same without which of a list it is."""
    return re.sub(r"\[[^\]]*\]", "[]", path)


def exactly(scalar):
    """A number with its unit, whether it is written with an exponent or not."""
    number, _, unit = scalar.partition(" ")
    try:
        return float(number), unit
    except ValueError:
        return number, unit


def check_values(page, text):
    """Every value that the file gives is a row of the sheet, and as it stands there."""
    given, told = collections.Counter(), collections.Counter(map(keyed, page.rows))
    exact = {}
    for path, scalar in values(yaml.compose(text)):
        given[keyed(path)] += 1
        if scalar and re.fullmatch(r"-?\d+(\.\d*[1-9])? [a-z/%]+[0-9^]*", scalar):
            exact.setdefault(keyed(path), []).append(scalar)
    for path, count in given.items():
        if count > told[path]:
            yield f"{path}: {count} in the file, {told[path]} on the sheet"
    for path, texts in exact.items():
        have = collections.Counter(exactly(value) for field, value in page.rows.items()
                                   if keyed(field) == path)
        for scalar in texts:
            if not have[exactly(scalar)]:
                yield f"{path}: {scalar} is not on the sheet, but {sorted(have)[:3]}"


def check_boxes(page, text):
    """Every number of the setters, the plate, homing and the change has a box to be ticked."""
    boxes = set(re.findall(r'aria-label="the controller has the same: ([^"]*)"', text))
    for path, value in page.rows.items():
        if re.match(r"(setters?|plate|homing|change)\b", path) and \
                re.match(r"-?\d+(\.\d+)? ?[a-z%]*$", value or "") and path not in boxes:
            yield f"{path} has no box"


def check_steps(program, path, text):
    """The first run has every step of the dry run, in its order, and what endangers people is bold."""
    done = run(program, "dryrun", "--format", "json", "--today", "2026-11-27", path)
    if done.returncode == 2:
        return
    moves = json.loads(done.stdout)["moves"]
    part = text[text.index("<h2>The first run"):].split('class="screen"')[0]
    told = re.findall(r'<tr><th scope="row">(\d+)</th><td( class="bold")?>([^,<]*), ', part)
    first = 0 if moves[0]["what"] == "measure what is in" else 1
    for at, move in enumerate(moves):
        number, bold, name = told[at] if at < len(told) else (None, None, None)
        harms = any(move[one] for one in ("endangers_hands", "starts_what_never_turns",
                                          "beside_turning_chuck"))
        if number != str(at + first) or name != move["what"] or bool(bold) != harms:
            yield f"step {at + first}, {move['what']}: told as {number} {name} {bold}"
            return
    if len(told) != len(moves):
        yield f"{len(told)} steps of {len(moves)} are told"


def check_told(program, page, path):
    """What `check` finds, what nobody could check and what is waived stands on the sheet."""
    sheet = plain("".join(page.texts))
    for one in parsed(program, path)["evaluations"]:
        if one["outcome"] != "held" and one["rule"] not in sheet:
            yield f"{one['rule']} {one['outcome']} is not told"
        if one["outcome"] == "waived" and plain(one["waived"]["reason"]) not in sheet:
            yield f"{one['rule']}: why it is waived is not told"


def check_bars(text):
    """What is left, solid, and what the tolerances take, hatched, are as the numbers are."""
    for bar, left, unit, taken, other in re.findall(
            r'<svg class="bar"(.*?)</svg>([\d.]+) (\S+) left, ([\d.]+) (\S+) tolerance', text):
        solid, hatched = (float(width) for width in re.findall(r'<rect [^>]*width="([\d.]+)"', bar))
        share = float(left) / (float(left) + float(taken))
        if unit == other and abs(solid / (solid + hatched) - share) > 0.02:
            yield f"a bar of {solid} and {hatched} for {left} and {taken} {unit}"


def check_page(text):
    page = Page()
    page.feed(text)
    page.close()
    yield from page.wrong
    yield from check_bars(text)
    if page.open:
        yield f"left open: {page.open}"
    heads = re.findall(r"<span>page (\d+) of (\d+)</span>", text)
    if heads != [(str(i + 1), str(page.pages)) for i in range(page.pages)]:
        yield f"pages {heads}"
    for heading in range(1, page.headings + 1):
        if not page.following[heading]:
            yield f"nothing follows heading {heading}"
    if "default-src 'none'" not in text:
        yield "it may load what it likes"
    for line in text.split("\n"):
        if re.search(r"https?:", line.replace("http://www.w3.org/2000/svg", "")):
            yield "an address of elsewhere is in it"


def sheet(program, path, *options):
    done = run(program, "sheet", "--today", "2026-11-27", *options, path)
    if done.returncode not in (0, 1):
        return None, [f"status {done.returncode}: {done.stderr[:200]}"]
    text = done.stdout.decode("utf-8")
    return text, list(check_page(text))


def look(program, path):
    text, wrong = sheet(program, path)
    if text is None:
        return wrong
    page = Page()
    page.feed(text)
    with open(path, encoding="utf-8") as file:
        source = file.read()
    if "extends:" not in source and "from:" not in source:
        wrong += check_values(page, source)
    wrong += check_boxes(page, text)
    wrong += check_steps(program, path, text)
    return (wrong + list(check_told(program, page, path)) + list(check_cutters(program, path)) +
            list(check_drawings(program, path, text)))


def parsed(program, path):
    """What `check` says of a file."""
    done = run(program, "check", "--format", "json", "--show", "all", "--today", "2026-11-27", path)
    return json.loads(done.stdout)["files"][0]


def check_cutters(program, path):
    """The page of each cutter: whole, of one page for the samples, with all that is found about it
    and whatever can hurt a person whichever cutter is changed."""
    found = parsed(program, path)["evaluations"]
    with open(path, encoding="utf-8") as file:
        numbers = re.findall(r"(?<=[{ ]number: )\d+", file.read())
    for number in numbers[:4]:
        text, wrong = sheet(program, path, "--for", "cutter", number)
        if text is None:
            if b"has no cutter" not in run(program, "sheet", "--for", number, path).stderr:
                yield from wrong
            continue
        yield from (f"cutter {number}: {one}" for one in wrong)
        if "sample-configs" in path and "page 1 of 1<" not in text:
            yield f"cutter {number}: its page is not one"
        body = plain(re.sub(r"<[^>]*>", " ", text.split('class="screen"')[0]))
        for one in found:
            told = one["rule"] in body
            own = one["subject"] == f"cutter {number}" and one["outcome"] != "held"
            own |= (one["hurts"] == "person" and one["outcome"] in ("failed", "waived") and
                    not (one["subject"] or "").startswith("cutter "))
            if own and not told:
                yield f"cutter {number}: {one['rule']} {one['outcome']} is not told"
        if "data-field" in text and re.search(r'data-field="(?!cutters\[)', text):
            yield f"cutter {number}: its page has values of something else"


def groups(text):
    """Every view of a drawing with all that is in it."""
    views = []
    for part in re.split(r"(?=<g data-view=)", text)[1:]:
        views.append(re.sub(r"</svg>.*", "", part, flags=re.DOTALL).split("\n</g>\n<")[0])
    return views


def check_drawings(program, path, page):
    """The drawings alone: one file of XML, with the same views as `draw` has them, but that of two
    scales both take the smaller."""
    done = run(program, "sheet", "--today", "2026-11-27", "--format", "svg", path)
    both = done.stdout.decode("utf-8")
    try:
        root = xml.etree.ElementTree.fromstring(both)
    except xml.etree.ElementTree.ParseError as error:
        yield f"the drawings: {error}"
        return
    width, height = (float(root.get(name).removesuffix("mm")) for name in ("width", "height"))
    parts = root.findall("{http://www.w3.org/2000/svg}svg")
    ends = [float(part.get("y")) + float(part.get("height")) for part in parts]
    if len(parts) != 2 or width != 180 or float(parts[1].get("y")) != ends[0] or \
            abs(ends[1] - height) > 1e-6:
        yield f"the drawings do not lie below each other: {ends} of {height}"
    alone = [run(program, "draw", "--today", "2026-11-27", "--view", view, path).stdout.decode()
             for view in ("plan", "side")]
    scales = [float(re.search(r'data-scale="(\S+)"', one)[1]) for one in alone]
    for view, one in zip(("plan", "side"), alone):
        same = [group for group in groups(one) if scales[view == "side"] == min(scales)]
        if not set(same) <= set(groups(both)):
            yield f"the {view} is not that of draw"
    left, right = (re.search(rf'data-view="{view}" data-scale="(\S+)" data-origin="(\S+) ', page)
                   for view in ("plan", "side"))
    if left and right and left.groups() != right.groups():
        yield f"plan and side do not share their scale and X: {left.groups()}, {right.groups()}"


def samples(program):
    drawn = share(map(os.path.basename, SAMPLES), 1, least=5)
    machines = [path for path in SAMPLES if os.path.basename(path) in drawn and
                run(program, "check", path).returncode in (0, 1)]
    return {os.path.basename(path): look(program, path) for path in machines}


def randoms(program):
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for seed in share(range(RANDOM), 4):
            path = os.path.join(folder, f"m{seed}.yaml")
            with open(path, "w", encoding="utf-8") as file:
                file.write(generate.make(seed)[0])
            found[f"machine {seed}"] = look(program, path)
    return found


EVIL = ["</script><script>alert(1)</script>", "\"'><b onload=x>", "]]>", "&amp;&#x3c;", "-->",
        "a\u202eb", "\\x1b[31m", "</title></style><base href=//x>", "W" * 10_000]


def spoilt(text, evil):
    """A name as a file has it, and the file with it in the place of every name."""
    quoted = json.dumps(evil[:199] if len(evil) < 200 else evil, ensure_ascii=True)
    for key, count in (("  name", 1), ("    description", 0), ("  - name", 0)):
        text = re.sub(rf"(?m)^({key}: ).*$", lambda m: m[1] + quoted, text, count=count)
    return quoted, text


def hostile(program):
    with open(os.path.join(TOP, "sample-configs", "workshop-router.yaml"), encoding="utf-8") as file:
        good = file.read()
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for at, evil in enumerate(EVIL):
            quoted, text = spoilt(good, evil)
            path = os.path.join(folder, f"evil{at}.yaml")
            with open(path, "w", encoding="utf-8") as file:
                file.write(text)
            made, wrong = sheet(program, path)
            if made and quoted[1:9] not in made and at == 8:
                wrong.append("the long name is not there")
            for part in ("<script", "<base", "<b ", "\u202e", "\x1b"):
                if made and part in made:
                    wrong.append(f"{part!r} came through")
            found[f"name {at}"] = wrong
    return found


def many(program):
    with open(os.path.join(TOP, "sample-configs", "workshop-router.yaml"), encoding="utf-8") as file:
        good = file.read()
    head = good[:good.index("\ncutters:")]
    rows = "".join(f"  - {{number: {i}, description: \"cutter of batch {i % 7}\", stickout: "
                   f"{30 + i % 20} mm, diameter: 6 mm, shank: 6 mm}}\n" for i in range(1, 501))
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "many.yaml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(f"{head}\ncutters:\n{rows}")
        made, wrong = sheet(program, path)
        if made:
            wrong += [f"cutter {i} has no row" for i in range(1, 501)
                      if not re.search(rf"<th scope=\"row\">cutter {i},", made)]
            if len(made) > MOST:
                wrong.append(f"{len(made)} bytes")
    return {"500 cutters": wrong}


def named(program):
    """Of twelve cutters the fifth, the seventh and the ninth have a diameter."""
    with open(os.path.join(TOP, "sample-configs", "workshop-router.yaml"), encoding="utf-8") as file:
        good = file.read()
    head = good[:good.index("\ncutters:")]
    rows = "".join(f"  - {{number: {i}, description: one, stickout: {30 + i} mm, shank: 6 mm"
                   f"{', diameter: 6 mm' if i in (5, 7, 9) else ''}}}\n" for i in range(1, 13))
    wanted = ("for want of cutters[].diameter: "
              "cutter 1 to cutter 4, cutter 6, cutter 8, cutter 10 to cutter 12<")
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "named.yaml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(f"{head}\ncutters:\n{rows}")
        made, wrong = sheet(program, path)
        told = re.findall(r"for want of cutters\[\]\.diameter: [^<]*<", made or "")
        if not told or set(told) != {wanted}:
            wrong.append(f"{told}, not {wanted}")
        if made and '<svg class="bar"' not in made:
            wrong.append("it has no bars")
    return {"cutters that could not be checked": wrong}


def tell(found, what):
    """Prints what is wrong by name, at most five of each, and ends the program."""
    count = 0
    for name, wrong in found.items():
        for one in wrong[:5]:
            print(f"{name}: {one}")
        count += len(wrong)
    print(f"{len(found)} {what}, {count} complaints")
    sys.exit(1 if count or not found else 0)


def main(program, what):
    kinds = {"samples": samples, "random": randoms, "hostile": hostile, "many": many,
             "named": named}
    tell(kinds[what](os.path.abspath(program)), "sheets")


if __name__ == "__main__":
    main(*sys.argv[1:])
