"""Single slips of the pen in a machine file: (what kind, path, lines touched, new text).

Knows the kinds of fields from the field table, and where a value stands from the YAML itself.
"""
import pathlib
import re

import yaml

MACHINE = pathlib.Path(__file__).resolve().parents[2] / "src/machine"
ROW = re.compile(r'^FIELD\(\w+, (\w+), "([^"]+)", (\w+), \w+, [\w()]+, [^,]+,\s*\w+, [\w |]+,'
                 r'\s*[^,]+, [^,]+, "[^"]*", (?:NULL|"([^"]*)"),', re.M)
SETTER_ROW = re.compile(r'^SETTER_FIELD\((\w+), "([^"]+)", (\w+, \w+), (\w+), (\w+),', re.M)
WHERE = {"ROOT": "", "AXIS": "axes.*.", "HOMING": "homing.*.", "INPUT": "inputs.*.",
         "OBSTACLE": "obstacles.*.", "SETTER": "setters.*.",
         "ATTACHMENT": "attachments.*.", "CUTTER": "cutters.*.",
         "AGREEMENT": "agrees_with.*.", "WAIVER": "waivers.*."}
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
FRACTION = re.compile(r"\d\s*/\s*\d")

# What is typed for what, by people who think in the other unit.
OTHER_UNIT = {"mm": ["cm", "in"], "in": ["mm"], "s": ["ms", "min"], "ms": ["s", "us"],
              "mm/min": ["mm/s", "in/min"], "in/min": ["mm/min", "in/s"], "mm/s^2": ["m/s^2"],
              "in/s^2": ["mm/s^2"], "rpm": ["rev/s"], "steps/mm": ["steps/in"],
              "steps/in": ["steps/mm"], "kHz": ["Hz"], "mm/m": ["%"]}


def field_table():
    """Path with `*` for what is named or numbered -> (kind, choices)."""
    text = (MACHINE / "fields.inc").read_text(encoding="utf-8")
    setter = (MACHINE / "setter_fields.inc").read_text(encoding="utf-8")
    rows = ROW.findall(text)
    for group, start in (("ROOT", "setter."), ("SETTER", "")):
        rows += ROW.findall(SETTER_ROW.sub(rf'FIELD(\1, {group}, "{start}\2", \3, \4(\5),',
                                           setter))
    return {WHERE[group] + key: (kind, choices.split()) for group, key, kind, choices in rows}


class Value:
    """A value at its place; `items` where it is a list of plain values."""

    def __init__(self, path, key, node, table):
        self.path, self.key, self.node = path, key, node
        general = path
        for section in ("axes", "homing", "inputs", "obstacles", "setters", "attachments",
                        "cutters"):
            general = re.sub(rf"^{section}(?:\[\d+\]|\.(?!order$)[\w-]+)", f"{section}.*", general)
        self.kind, self.choices = table.get(general, (None, []))

    def items(self):
        return self.node.value if isinstance(self.node, yaml.SequenceNode) else [self.node]


def values(text, table):
    def walk(path, node):
        for key, value in node.value:
            at = f"{path}.{key.value}" if path else key.value
            if isinstance(value, yaml.MappingNode):
                yield from walk(at, value)
            elif isinstance(value, yaml.SequenceNode) and value.value and isinstance(
                    value.value[0], yaml.MappingNode):
                for i, item in enumerate(value.value):
                    yield from walk(f"{at}[{i}]", item)
            else:
                yield Value(at, key, value, table)
    return list(walk("", yaml.compose(text, yaml.SafeLoader)))


def numbers(item):
    """(kind of slip, what is then written) for one quantity."""
    match = NUMBER.match(item)
    if not match:
        return
    number, rest = match.group(), item[match.end():]
    unit = rest.strip()
    plain = not FRACTION.search(item) and "±" not in item
    if unit and plain:
        yield "unit left out", number
        yield "unit of something else", f"{number} {'s' if 'm' in unit else 'mm'}"
        yield "decimal comma", f"{number.replace('.', ',') if '.' in number else number + ',0'}{rest}"
        for other in OTHER_UNIT.get(unit, []):
            yield "unit wrong", f"{number} {other}"
    if not plain:
        return
    digits = number.lstrip("-")
    if len(digits.partition(".")[0]) > 1:
        yield "digit left out", number[:-1].rstrip(".") + rest
    yield "digit too many", (number + "0" if "." not in number else
                             number.replace(".", "0.", 1)) + rest
    if number.startswith("-"):
        yield "sign lost", digits + rest
    elif float(number):
        yield "sign too many", "-" + number + rest
    if unit in ("mm", "in"):
        inch = float(number) * 25.4 if unit == "in" else float(number) / 25.4
        yield "factor 25.4", f"{inch:.3f}".rstrip("0").rstrip(".") + rest
    if re.search(r"([0-9])(?!\1)[0-9]", digits):
        swapped = re.sub(r"([0-9])(?!\1)([0-9])", r"\2\1", digits, count=1)
        yield "digits swapped", number.replace(digits, swapped) + rest


def written(value, names):
    """(kind of slip, node, text in its place) for a value."""
    item = value.node.value
    if value.kind in ("QUANTITY", "POSITION", "PAIR", "LIST"):
        for node in value.items():
            for what, slip in numbers(node.value):
                yield what, node, slip
        if value.kind == "PAIR":
            low, high = value.items()
            yield "low and high swapped", value.node, f"[{high.value}, {low.value}]"
    elif value.kind == "FLAG":
        yield "wrong choice", value.node, {"yes": "no", "no": "yes"}[item]
    elif value.kind == "CHOICE":
        for choice in value.choices:
            if choice != item:
                yield "wrong choice", value.node, choice
        yield "choice misspelt", value.node, item[:-1]
    elif value.kind in ("WORDS", "ORDER"):
        words = [one.value for one in value.items()]
        for i in range(len(words)):
            yield "word left out", value.node, "[" + ", ".join(words[:i] + words[i + 1:]) + "]"
        if len(words) > 1:
            yield "order turned", value.node, "[" + ", ".join(reversed(words)) + "]"
    elif value.kind == "DATE":
        yield "stale", value.node, f"{int(item[:4]) - 1}{item[4:]}"
        yield "no such day", value.node, f"{item[:5]}13{item[7:]}"
    elif value.kind == "INPUT":
        yield "name misspelt", value.node, item[:-1] if len(item) > 2 else item + "1"
        for name in names:
            if name != item:
                yield "wrong name", value.node, name
    elif value.kind == "COUNT":
        yield "digit too many", value.node, item + "0"


def keys(value):
    name = value.key.value
    if len(name) > 3:
        yield "key slip", name[:2] + name[3] + name[2] + name[4:]
        yield "key slip", name[:-1]


def swap(text, first, second):
    """The text with the places of two nodes exchanged."""
    (a, b), (c, d) = sorted((node.start_mark.index, node.end_mark.index)
                            for node in (first, second))
    return text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]


def put(text, node, new):
    return text[:node.start_mark.index] + new + text[node.end_mark.index:]


def line_of(node):
    return node.start_mark.line + 1


def without(text, value):
    """Without a key and its value: the line, or its part of one."""
    start, end = value.key.start_mark.index, value.node.end_mark.index
    begin, stop = text.rindex("\n", 0, start) + 1, text.index("\n", end)
    before, after = text[begin:start], text[end:stop]
    if not before.strip() and not after.split("#")[0].strip():
        return text[:begin] + text[stop + 1:]
    if not before.strip(" -") or "{" not in before:
        return None
    if after.startswith(","):
        return text[:start] + text[end + 1:].lstrip(" ")
    return text[:start].rstrip(" ,") + text[end:]


def slips(text):
    """(kind, path, lines, new text): every slip there is, in the order of the file."""
    table = field_table()
    found = values(text, table)
    by_path = {value.path: value for value in found}
    names = sorted({value.path.split(".")[1] for value in found
                    if value.path.startswith("inputs.")})
    for value in found:
        lines = {line_of(value.key), line_of(value.node)}
        for what, node, slip in written(value, names):
            yield what, value.path, lines, put(text, node, slip)
        for what, name in keys(value):
            yield what, value.path, lines, put(text, value.key, name)
        less = without(text, value)
        if less:
            yield "line left out", value.path, lines, less
        end = text.find("\n", value.node.end_mark.index)
        begin = text.rindex("\n", 0, value.key.start_mark.index) + 1
        if not text[begin:value.key.start_mark.index].strip():
            yield "line twice", value.path, {line_of(value.key), line_of(value.key) + 1}, \
                text[:end + 1] + text[begin:end + 1] + text[end + 1:]
        yield "left empty", value.path, lines, put(text, value.node, "")
        if re.search(r"(?:^|\.)x(?:\.|$)", value.path):
            other = by_path.get(re.sub(r"(^|\.)x(?=\.|$)", r"\1y", value.path))
            if other and text[value.node.start_mark.index:value.node.end_mark.index] != \
                    text[other.node.start_mark.index:other.node.end_mark.index]:
                yield "x and y swapped", value.path, lines | {line_of(other.node)}, \
                    swap(text, value.node, other.node)
