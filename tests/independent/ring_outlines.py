"""Outlines of stones and their parallels as polygons, for whole_rings.py.

Drawn from the specification's words (two arcs of radius (L2+W2)/(4W), a semicircle and two arcs
in a common tangent ...), by points and normals and not by the program's chain of pieces. A point
is (x, y, nx, ny), the normal outwards; a corner stands several times, once for each direction
between its two normals. y runs along the length; counter-clockwise.
"""
import math

TURN = 2 * math.pi


def arc(cx, cy, r, start, sweep, n):
    for i in range(n + 1):
        a = start + sweep * i / n
        yield (cx + r * math.cos(a), cy + r * math.sin(a), math.cos(a), math.sin(a))


def line(x0, y0, x1, y1, n):
    long = math.hypot(x1 - x0, y1 - y0)
    nx, ny = (y1 - y0) / long, -(x1 - x0) / long
    for i in range(n + 1):
        yield (x0 + (x1 - x0) * i / n, y0 + (y1 - y0) * i / n, nx, ny)


def ellipse(a, b, n):
    for i in range(n):
        t = TURN * i / n
        nx, ny = math.cos(t) / a, math.sin(t) / b
        size = math.hypot(nx, ny)
        yield (a * math.cos(t), b * math.sin(t), nx / size, ny / size)


def pear(length, width, n):
    # the back's middle lies half a width over the bottom; the flanks leave it straight upwards
    back_y = -length / 2 + width / 2
    rise = length - width / 2
    radius = (width * width / 4 + rise * rise) / width
    sweep = math.asin(rise / radius)
    yield from arc(0, back_y, width / 2, math.pi, math.pi, n // 2)
    yield from arc(width / 2 - radius, back_y, radius, 0, sweep, n // 3)
    yield from arc(radius - width / 2, back_y, radius, math.pi - sweep, sweep, n // 3)


def marquise(length, width, n):
    radius = (length * length + width * width) / (4 * width)
    half = math.asin(length / 2 / radius)
    yield from arc(width / 2 - radius, 0, radius, -half, 2 * half, n // 2)
    yield from arc(radius - width / 2, 0, radius, math.pi - half, 2 * half, n // 2)


def rectangle(length, width, leg, n):
    """An octagon; a rectangle where the leg is nothing."""
    w, h, c = width / 2, length / 2, leg
    corners = [(w, -h + c), (w, h - c), (w - c, h), (-w + c, h), (-w, h - c), (-w, -h + c), (-w + c, -h),
               (w - c, -h)]
    if c == 0:
        corners = [(w, -h), (w, h), (-w, h), (-w, -h)]
    for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1]):
        yield from line(x0, y0, x1, y1, n // 12)


def cushion(length, width, r, n):
    w, h = width / 2 - r, length / 2 - r
    for cx, cy, start in ((w, h, 0), (-w, h, 1), (-w, -h, 2), (w, -h, 3)):
        yield from arc(cx, cy, r, start * TURN / 4, TURN / 4, n // 4)


def outline(stone, n=72):
    shape, length, width, corner = stone["shape"], stone["length"], stone["width"], stone["corner"]
    if shape == "round":
        middle = (length + width) / 2
        return list(ellipse(middle / 2, middle / 2, n))
    draw = {
        "oval": lambda: ellipse(width / 2, length / 2, n),
        "pear": lambda: pear(length, width, n),
        "marquise": lambda: marquise(length, width, n),
        "emerald": lambda: rectangle(length, width, corner, n),
        "asscher": lambda: rectangle(length, width, corner, n),
        "radiant": lambda: rectangle(length, width, corner, n),
        "princess": lambda: rectangle(length, width, 0, n),
        "baguette": lambda: rectangle(length, width, 0, n),
        "cushion": lambda: cushion(length, width, corner, n),
    }[shape]
    return list(draw())


def apart(point, points):
    """Distance from the closed polygon."""
    least = math.inf
    for i, (x1, y1, *_) in enumerate(points):
        x0, y0 = points[i - 1][:2]
        ux, uy = x1 - x0, y1 - y0
        size = ux * ux + uy * uy
        k = min(1.0, max(0.0, ((point[0] - x0) * ux + (point[1] - y0) * uy) / size)) if size else 0.0
        least = min(least, math.hypot(point[0] - x0 - k * ux, point[1] - y0 - k * uy))
    return least


def parallel(points, offset):
    """Polygon of the parallel curve. Outwards a corner is an arc; inwards what lies nearer than the
    offset to any part of the outline goes, and the ends that are left meet by themselves."""
    moved = []
    count = len(points)
    for i, (x, y, nx, ny) in enumerate(points):
        bx, by, bnx, bny = points[i - 1]
        turn = math.atan2(bnx * ny - bny * nx, bnx * nx + bny * ny)
        if math.hypot(x - bx, y - by) < 1e-9 and turn > 0.05 and offset > 0:
            steps = math.ceil(turn / 0.15)
            first = math.atan2(bny, bnx)
            moved += [(x + offset * math.cos(first + turn * k / steps), y + offset * math.sin(first + turn * k / steps))
                      for k in range(1, steps)]
        moved.append((x + offset * nx, y + offset * ny))
    if offset < 0:
        moved = cut(moved, points, -offset)
    return tidy(moved)


def cut(moved, points, inset):
    """Without what lies too near to the outline; the two sides of a gap run on until they cross."""
    count = len(points)
    near = 0.985 * inset  # a polygon lies a little inside its curve
    left = [apart(p, points) >= near for p in moved]
    if all(left):
        return moved
    kept = []
    for i in range(count):
        if left[i]:
            kept.append(moved[i])
        elif left[i - 1]:
            after = next(k for k in range(i, i + count) if left[k % count]) % count
            kept.append(crossing(moved[i - 2], moved[i - 1], moved[after], moved[(after + 1) % count]))
    return kept


def crossing(a, b, c, d):
    """Where the lines ab and cd meet."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]
    k = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / (ux * vy - uy * vx)
    return (a[0] + k * ux, a[1] + k * uy)


def tidy(points):
    """No point twice."""
    return [p for i, p in enumerate(points) if math.hypot(p[0] - points[i - 1][0], p[1] - points[i - 1][1]) > 1e-6]


def plain(points):
    return tidy([(p[0], p[1]) for p in points])


def length(polygon):
    return sum(math.hypot(p[0] - polygon[i - 1][0], p[1] - polygon[i - 1][1]) for i, p in enumerate(polygon))


def along(polygon, runs):
    """Points and outward normals at arc lengths (ascending) from the polygon's first point."""
    found, behind = [], 0.0
    ends = polygon[1:] + polygon[:1]
    sides = iter(zip(polygon, ends))
    (x0, y0), (x1, y1) = next(sides)
    for run in runs:
        side = math.hypot(x1 - x0, y1 - y0)
        while run - behind > side:
            behind += side
            (x0, y0), (x1, y1) = next(sides)
            side = math.hypot(x1 - x0, y1 - y0)
        share = (run - behind) / side
        found.append((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share, (y1 - y0) / side, -(x1 - x0) / side))
    return found


def turning(a, b, c):
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def thin(polygon, least, clear):
    """Its corners, and of the rest no two nearer than `least` and none nearer than `clear` to a corner;
    nothing on straight sides."""
    n = len(polygon)
    turns = [turning(polygon[i - 1], polygon[i], polygon[(i + 1) % n]) for i in range(n)]
    corners = [i for i in range(n) if abs(turns[i]) > 0.2]
    kept = []
    for i, p in enumerate(polygon):
        far = all(math.dist(p, q) >= least for q in kept) and all(math.dist(p, polygon[k]) >= clear for k in corners)
        if i in corners or (far and abs(turns[i]) > 1e-6):
            kept.append(p)
    return kept


def from_axis(polygon):
    """Turned so that it begins at the far end of the length axis."""
    top = max(range(len(polygon)), key=lambda i: (round(polygon[i][1], 9), -abs(polygon[i][0])))
    turned = polygon[top:] + polygon[:top]
    return turned


def closed_row(polygon, d, spacing, multiple):
    """Count, and places, of the most stones whose equal chords close the curve: tried one by one, each
    spread evenly by walking half of the curve in chords."""
    fine = from_axis(polygon)
    whole = length(fine)
    steps = 6000
    dense = along(fine, [whole * i / steps for i in range(steps)])

    def walk(chord, count):
        """Places after each chord; how far it came, in steps."""
        at, places = 0.0, [dense[0]]
        x, y = dense[0][0], dense[0][1]
        k = 0
        while len(places) <= count:
            while k < 2 * steps and math.hypot(dense[(k + 1) % steps][0] - x, dense[(k + 1) % steps][1] - y) < chord:
                k += 1
            px, py = dense[k % steps][:2]
            qx, qy = dense[(k + 1) % steps][:2]
            near, far = math.hypot(px - x, py - y), math.hypot(qx - x, qy - y)
            share = (chord - near) / (far - near) if far > near else 0.0
            at = k + share
            x, y = px + (qx - px) * share, py + (qy - py) * share
            places.append((x, y, *dense[k % steps][2:]))
        return at, places

    count = int(whole / (d + spacing)) + 1
    count -= count % multiple
    while count > 2:
        low, high = 0.5 * whole / count, whole / count * 1.2
        for _ in range(50):
            chord = (low + high) / 2
            if walk(chord, count)[0] < steps:
                low = chord
            else:
                high = chord
        if low >= d + spacing - 1e-6:
            return count, low - d, walk(low, count)[1][:count]
        count -= multiple
    raise ValueError("no row closes")
