"""Plan geometry the plain way: hulls by the gift wrap, distances segment by segment."""
import math


def turn(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def hull(points):
    """The corners of the convex hull, counter-clockwise; one or two points stay as they are."""
    points = sorted(set(points))
    if len(points) < 3:
        return points
    halves = []
    for order in (points, points[::-1]):
        half = []
        for point in order:
            while len(half) > 1 and turn(half[-2], half[-1], point) <= 0:
                half.pop()
            half.append(point)
        halves.append(half[:-1])
    return halves[0] + halves[1]


def sides(corners):
    if len(corners) == 1:
        return [(corners[0], corners[0])]
    if len(corners) == 2:
        return [tuple(corners)]
    return list(zip(corners, corners[1:] + corners[:1]))


def point_to_side(p, side):
    (ax, ay), (bx, by) = side
    length = (bx - ax) ** 2 + (by - ay) ** 2
    along = 0 if length == 0 else max(0, min(1, ((p[0] - ax) * (bx - ax)
                                                 + (p[1] - ay) * (by - ay)) / length))
    return math.hypot(p[0] - ax - along * (bx - ax), p[1] - ay - along * (by - ay))


def cross(s, t):
    return (turn(*s, t[0]) * turn(*s, t[1]) < 0) and (turn(*t, s[0]) * turn(*t, s[1]) < 0)


def holds(corners, p):
    return len(corners) > 2 and all(turn(a, b, p) >= 0 for a, b in sides(corners))


def to_place(corners, place):
    """Distance between a convex figure and a place."""
    if holds(corners, place):
        return 0.0
    return min(point_to_side(place, side) for side in sides(corners))


def to_rectangle(corners, box):
    """Distance between a convex figure and a rectangle (x low, x high, y low, y high)."""
    x0, x1, y0, y1 = box
    other = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if any(holds(other, p) for p in corners) or any(holds(corners, p) for p in other):
        return 0.0
    pairs = [(s, t) for s in sides(corners) for t in sides(other)]
    if any(cross(s, t) for s, t in pairs):
        return 0.0
    return min(min(point_to_side(s[0], t), point_to_side(s[1], t),
                   point_to_side(t[0], s), point_to_side(t[1], s)) for s, t in pairs)
