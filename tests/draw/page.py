"""An SVG drawing of ours as boxes and straight pieces, read from the file alone.

Nothing here knows how the drawing was made: where a text lies follows from what the file says of it,
the width included, and lines are followed along their paths.
"""
import math
import re
import xml.etree.ElementTree

NAMESPACE = "{http://www.w3.org/2000/svg}"
ABOVE, BELOW = 2.6, 0.75  # of a line of letters over and under its foot, mm: for letters of 3.5
ARC_PIECES = 24


class Text:
    def __init__(self, element, group):
        x, y = float(element.get("x")), float(element.get("y"))
        self.words, self.group = "".join(element.itertext()), group
        self.box = (x, y - ABOVE, x + float(element.get("textLength")), y + BELOW)


class Line:
    def __init__(self, a, b, group):
        self.a, self.b, self.group = a, b, group


def arc(start, radius, sweep, end):
    """Pieces of an arc of less than half a circle, or half of one."""
    (x1, y1), (x2, y2) = start, end
    chord = math.hypot(x2 - x1, y2 - y1)
    if chord == 0:
        return [start, end]
    off = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
    side = off / chord if sweep else -off / chord
    cx, cy = (x1 + x2) / 2 - side * (y2 - y1), (y1 + y2) / 2 + side * (x2 - x1)
    first, last = math.atan2(y1 - cy, x1 - cx), math.atan2(y2 - cy, x2 - cx)
    turn = (last - first) % (2 * math.pi)
    if not sweep:
        turn -= 2 * math.pi
    true = max(radius, chord / 2)
    return [(cx + true * math.cos(first + turn * i / ARC_PIECES),
             cy + true * math.sin(first + turn * i / ARC_PIECES)) for i in range(ARC_PIECES + 1)]


def path_points(text):
    """Runs of points of a path made of M, L, A, Z and l."""
    runs, at = [], (0.0, 0.0)
    for letter, rest in re.findall(r"([MLAZl])([^MLAZl]*)", text):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        if letter == "M":
            at = tuple(numbers)
            runs.append([at])
        elif letter == "L":
            at = tuple(numbers)
            runs[-1].append(at)
        elif letter == "l":
            at = (at[0] + numbers[0], at[1] + numbers[1])
            runs[-1].append(at)
        elif letter == "A":
            end = tuple(numbers[5:7])
            runs[-1] += arc(at, numbers[0], numbers[4] == 1, end)[1:]
            at = end
        else:
            at = runs[-1][0]
            runs[-1].append(at)
    return runs


def outline(element):
    """Runs of points along what an element draws."""
    kind = element.tag.removeprefix(NAMESPACE)
    if kind == "path":
        return path_points(element.get("d"))
    if kind == "circle":
        x, y, r = (float(element.get(name)) for name in ("cx", "cy", "r"))
        return [[(x + r * math.cos(math.pi * i / 32), y + r * math.sin(math.pi * i / 32))
                 for i in range(65)]]
    if kind == "rect":
        x, y, w, h = (float(element.get(name)) for name in ("x", "y", "width", "height"))
        return [[(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]]
    return []


def is_line(element):
    """Tints without an outline are no lines; filled heads and dots are."""
    return element.get("stroke") != "none" or element.get("fill") == "currentColor"


class Page:
    def __init__(self, text):
        self.root = xml.etree.ElementTree.fromstring(text)
        self.texts, self.lines, self.views = [], [], []
        self.width, self.height = (float(n) for n in self.root.get("viewBox").split()[2:])
        self.walk(self.root, None)

    def walk(self, element, group):
        for child in element:
            kind = child.tag.removeprefix(NAMESPACE)
            if kind == "text":
                self.texts.append(Text(child, group))
            elif kind == "g":
                if child.get("data-view"):
                    self.views.append(child)
                self.walk(child, child if child.get("data-field") else group)
            elif is_line(child):
                for run in outline(child):
                    self.lines += [Line(a, b, group) for a, b in zip(run, run[1:])]


def boxes_meet(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def line_meets(line, box):
    """By clipping the line at each side of the box."""
    (x, y), (dx, dy) = line.a, (line.b[0] - line.a[0], line.b[1] - line.a[1])
    first, last = 0.0, 1.0
    for start, step, low, high in ((x, dx, box[0], box[2]), (y, dy, box[1], box[3])):
        if step == 0:
            if not low < start < high:
                return False
            continue
        near, far = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, near), min(last, far)
        if first >= last:
            return False
    return True


def collisions(page, clear=0.3):
    """What lies over what; `clear` millimetres are wanted around a text."""
    found = []
    for i, text in enumerate(page.texts):
        left, top, right, bottom = text.box
        if left < 0 or top < 0 or right > page.width or bottom > page.height:
            found.append(f"`{text.words}` leaves the sheet")
        for other in page.texts[i + 1:]:
            if boxes_meet(text.box, other.box):
                found.append(f"`{text.words}` over `{other.words}`")
        around = (left - clear, top - clear, right + clear, bottom + clear)
        for line in page.lines:
            own = line.group is text.group and text.group is not None
            if not own and line_meets(line, around):
                found.append(f"`{text.words}` over a line from {line.a} to {line.b}")
                break
    return found
