"""Sheets printed by a browser, held against what they say of themselves.

    printed.py FOLDER SHEET.html ...

FOLDER has NAME-A4.pdf and NAME-Letter.pdf of each sheet.  As many pages as "page n of m" says, each
with its own number and something on it; nothing outside of 180 x 250 mm; and every rectangle of the
drawings (the scale bars among them) where it belongs and as long as it says, within 0.1 mm.
"""
import os
import re
import subprocess
import sys
import xml.etree.ElementTree

POINT = 25.4 / 72
LEFT, TOP, WIDTH, HEIGHT = 15, 14.5, 180, 250
DOTS = 60  # per inch, of the picture in which ink is looked for
NEAR = 0.1  # mm
SVG = "{http://www.w3.org/2000/svg}"


def run(*arguments):
    return subprocess.run(arguments, capture_output=True, check=True, timeout=120).stdout


def drawings(html):
    """Of each drawing: the page it is on, and its rectangles as (x, y, width, height)."""
    for page, section in enumerate(html.split('<section class="page')[1:], 1):
        for text in re.findall(r"<svg [^>]*role=\"img\".*?</svg>", section, re.DOTALL):
            root = xml.etree.ElementTree.fromstring(text)
            size = [float(part) for part in root.get("viewBox").split()[2:]]
            if [root.get("width"), root.get("height")] != [f"{part:g}mm" for part in size]:
                yield page, f"the drawing is not of its own size: {root.attrib}"
            yield page, [[float(one.get(name)) for name in ("x", "y", "width", "height")]
                         for one in root.iter(SVG + "rect") if not one.get("rx")]


def boxes(pdf, page):
    """What is drawn on a page: (left, top, width, height) in mm of every path."""
    root = xml.etree.ElementTree.fromstring(
        run("pdftocairo", "-svg", "-f", str(page), "-l", str(page), pdf, "-"))
    for path in root.iter(SVG + "path"):
        numbers = [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path.get("d") or "")]
        by = re.findall(r"-?\d+(?:\.\d+)?", path.get("transform") or "matrix(1,0,0,1,0,0)")
        a, b, c, d, e, f = map(float, by)
        points = [(a * x + c * y + e, b * x + d * y + f)
                  for x, y in zip(numbers[::2], numbers[1::2])]
        if len(points) < 4:
            continue
        xs, ys = zip(*points)
        yield (min(xs) * POINT, min(ys) * POINT, (max(xs) - min(xs)) * POINT,
               (max(ys) - min(ys)) * POINT)


def check_size(pdf, page, wanted):
    """Every rectangle is there, and all of them by the same way from where they are drawn."""
    if not wanted:
        yield f"page {page}: the drawing has no scale bar"
        return
    have = list(boxes(pdf, page))
    down = None
    for x, y, width, height in wanted:
        same = [box for box in have
                if abs(box[0] - LEFT - x) < NEAR and abs(box[2] - width) < NEAR and
                abs(box[3] - height) < NEAR and
                (down is None or abs(box[1] - y - down) < NEAR)]
        if not same:
            yield (f"page {page}: {width:g} x {height:g} mm at {x:g}, {y:g} mm is not there, but "
                   f"{[tuple(round(part, 2) for part in box) for box in have][:3]}")
        elif down is None:
            down = same[0][1] - y


def check_ink(pdf, page):
    """Nothing outside of what the page has, with half a millimetre for how dots fall; and not
    nothing inside."""
    head, size, _, dots = run("pdftoppm", "-r", str(DOTS), "-gray", "-f", str(page), "-l",
                              str(page), pdf).split(b"\n", 3)
    if head != b"P5":
        yield f"page {page}: no picture"
        return
    width, height = map(int, size.split())
    rows = [dots[at * width:(at + 1) * width] for at in range(height)]
    inked = [at for at, row in enumerate(rows) if min(row) < 160]
    columns = [at for at in range(width) if min(dots[at::width]) < 160]
    if len(inked) < 3:
        yield f"page {page} is empty"
        return
    mm = 25.4 / DOTS
    ends = columns[0] * mm - LEFT, columns[-1] * mm - LEFT, inked[0] * mm - TOP, \
        inked[-1] * mm - TOP
    if ends[0] < -0.9 or ends[1] > WIDTH + 0.5 or ends[2] < -0.9 or ends[3] > HEIGHT + 0.5:
        yield "page %d has ink from %.1f to %.1f mm across, %.1f to %.1f mm down" % (page, *ends)


def check(html, pdf):
    with open(html, encoding="utf-8") as file:
        text = file.read()
    said = [int(one) for one in re.findall(r"<span>page \d+ of (\d+)</span>", text)]
    pages = int(re.search(rb"Pages:\s+(\d+)", run("pdfinfo", pdf))[1])
    if not said or set(said) != {pages}:
        yield f"{pages} pages, and it says {sorted(set(said))}"
        return
    for page in range(1, pages + 1):
        words = run("pdftotext", "-f", str(page), "-l", str(page), pdf, "-").decode()
        if f"page {page} of {pages}" not in words:
            yield f"page {page} does not say so"
        yield from check_ink(pdf, page)
    drawn = list(drawings(text))
    if len(drawn) != 2:
        yield f"{len(drawn)} drawings"
    for page, wanted in drawn:
        if isinstance(wanted, str):
            yield f"page {page}: {wanted}"
        else:
            yield from check_size(pdf, page, wanted)


def main(folder, *sheets):
    complaints = looked = 0
    for html in sheets:
        name = os.path.splitext(os.path.basename(html))[0]
        for form in ("A4", "Letter"):
            wrong = list(check(html, os.path.join(folder, f"{name}-{form}.pdf")))
            for one in wrong[:5]:
                print(f"{name}, {form}: {one}")
            complaints += len(wrong)
            looked += 1
    print(f"{folder}: {looked} prints, {complaints} complaints")
    return 1 if complaints or not looked else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
