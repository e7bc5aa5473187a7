"""OpenSCAD source of a whole ring, from the measurements of a design sheet, for whole_rings.py.

Only what the specification says a part *is* stands here; no volume is worked out. Every part is a
solid of its own and the modeller joins them, so that what lies inside another part counts once.
x runs down the right shoulder, y along the finger, z away from it; z = 0 is the finger's top line.

Circles are polygons of the same area (radius times sqrt(a / sin a), a the step), arches of a section
likewise, so that few facets do; a tube's straight pieces meet in mitres.
"""
import math

import ring_outlines as plan

CROWN, GIRDLE, PAVILION = 14.5 / 60, 2.5 / 60, 43.0 / 60
TABLE = 0.57  # of the width: the reference brilliant that the three figures above are from
SIDES = 10  # of a claw, a tube, a seat
ROUND = 54  # steps round the finger


def swell(step):
    """What a polygon's corners move out by to enclose the circle's area."""
    return math.sqrt(step / math.sin(step))


def polyhedron(points, faces):
    text = ",".join("[%.6f,%.6f,%.6f]" % p for p in points)
    sides = ",".join("[" + ",".join(map(str, f)) + "]" for f in faces)
    return f"polyhedron(points=[{text}],faces=[{sides}]);"


def loft(rings, closed=False):
    """Skin over rings of equally many points. Each ring runs counter-clockwise seen from the next one."""
    m, n = len(rings[0]), len(rings)
    points = [p for ring in rings for p in ring]
    faces = []
    for i in range(n if closed else n - 1):
        k = (i + 1) % n
        for j in range(m):
            a, b = i * m + j, i * m + (j + 1) % m
            c, d = k * m + (j + 1) % m, k * m + j
            faces += [(a, d, c), (a, c, b)]
    if not closed:  # each end in triangles about its middle: rounded corners lie in no plane
        for ring, first in ((rings[0], 0), (rings[-1], (n - 1) * m)):
            points.append(tuple(sum(p[i] for p in ring) / m for i in range(3)))
            way = 1 if first == 0 else -1
            faces += [(len(points) - 1, first + j, first + (j + way) % m) for j in range(m)]
    return polyhedron(points, faces)


def add(p, q, k=1.0):
    return tuple(a + k * b for a, b in zip(p, q))


def unit(v):
    size = math.sqrt(sum(a * a for a in v))
    return tuple(a / size for a in v)


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def disc(centre, way, diameter, sides=SIDES, tilt=None):
    """A regular polygon across `way`; with `tilt` it is sheared onto the plane across that."""
    # a direction of its own for every axis: no two parts share a plane by chance
    u = unit(cross(way, (0.3183, 0.8129, 0.4877) if abs(way[0]) < 0.9 else (0.11, 0.79, -0.6)))
    v = cross(way, u)
    r = diameter / 2 * swell(math.tau / sides)
    ring = []
    for i in range(sides):
        a = math.tau * (i + 0.37) / sides
        p = add(add((0, 0, 0), u, r * math.cos(a)), v, r * math.sin(a))
        if tilt is not None:
            slope = sum(x * y for x, y in zip(p, tilt)) / sum(x * y for x, y in zip(way, tilt))
            p = add(p, way, -slope)
        ring.append(add(centre, p))
    return ring


# ---- the shank ----


def height(profile, t, k, x, arch):
    k = min(k, t)
    return {
        "flat": t,
        "half round": k + (t - k) * arch,
        "knife edge": k + (t - k) * (1 - abs(x)),
        "court": t * (0.6 + 0.4 * arch),
        "round wire": t / 2 * (1 + arch),
    }[profile]


def relief(profile, t, arch):
    return {"court": 0.2 * t * (1 - arch), "round wire": t / 2 * (1 - arch)}.get(profile, 0.0)


def shank_at(ring, angle):
    """Width, thickness, and the blend, at an angle from the top."""
    s = ring["shank"]
    share = abs(angle) / math.pi
    mix = lambda what: (1 - share) * s[what + " top"] + share * s[what + " base"]
    return mix("width"), mix("thickness"), share


def rise(ring, angle, x):
    """Heights of the outside and of the inside over the finger."""
    s = ring["shank"]
    _, t, share = shank_at(ring, angle)
    arch = math.sqrt(max(0.0, 1 - x * x))
    return across(s, t, share, x, arch)


def across(s, t, share, x, arch):
    wall = s.get("wall", 0.0)
    h = (1 - share) * height(s["profile top"], t, wall, x, arch) + share * height(s["profile base"], t, wall, x, arch)
    e = (1 - share) * relief(s["profile top"], t, arch) + share * relief(s["profile base"], t, arch)
    return h, e


def section(ring, angle, steps=14):
    """Points (u, v) round the section at an angle, v over the finger, counter-clockwise."""
    width, t, share = shank_at(ring, angle)
    half = math.pi / steps / 2
    full = 2 * half / math.sin(2 * half)  # an arch of chords encloses less: this much
    outside, inside = [], []
    for i in range(steps + 1):
        a = math.pi * i / steps
        h, e = across(ring["shank"], t, share, -math.cos(a), math.sin(a) * full)
        if i in (0, steps):
            h = max(h, e + 0.002)  # a sharp edge is 2 micrometres wide
        outside.append((-math.cos(a) * width / 2, h))
        inside.append((-math.cos(a) * width / 2, e))
    profiles = {ring["shank"]["profile top"], ring["shank"]["profile base"]}
    if not profiles & {"court", "round wire"}:
        inside = [inside[0], inside[-1]]
    return inside + outside[::-1]


def shank(ring):
    span = math.radians(ring["shank"].get("open", 0.0))
    steps = max(8, round(ROUND * (math.tau - span) / math.tau))
    step = (math.tau - span) / steps
    out = swell(step)
    rings = []
    for i in range(steps if span == 0 else steps + 1):
        angle = span / 2 + step * i
        folded = angle if angle <= math.pi else math.tau - angle
        points = []
        for u, v in section(ring, folded):
            r = (ring["bore"] / 2 + v) * out
            points.append((r * math.sin(angle), u, r * math.cos(angle) - ring["bore"] / 2))
        rings.append(points)
    return loft(rings, closed=span == 0)


# ---- what holds a stone; all in the stone's own frame, its girdle's upper edge at z = 0 ----


def claw(foot, girdle, base, tip, style, crown):
    """From the base rail along a straight axis to the girdle, then up; thinning evenly."""
    reach, end = (1.0, tip) if style == "v" else (0.7, tip / 2 if style in ("round", "double") else tip)
    if style == "flat":
        end = 0.0
    over = max(0.1, reach * crown - end)  # the bend needs some room
    low, up = unit(add(girdle, foot, -1)), (0.0, 0.0, 1.0)
    below = math.dist(foot, girdle)
    bend = base + (tip - base) * below / (below + over)
    top = add(girdle, up, over)
    rings = [disc(foot, low, base), disc(girdle, low, bend, tilt=unit(add(low, up)))]
    spread = polygon_spread(rings[1], top, tip)
    rings.append(spread)
    if style in ("round", "double"):
        for i in (1, 2, 3):
            a = math.pi / 2 * i / 4
            rings.append([(top[0] + (p[0] - top[0]) * math.cos(a), top[1] + (p[1] - top[1]) * math.cos(a),
                           top[2] + tip / 2 * math.sin(a) * 1.012) for p in spread])
        rings.append([(top[0] + (p[0] - top[0]) * 0.01, top[1] + (p[1] - top[1]) * 0.01, top[2] + tip / 2 * 1.012)
                      for p in spread])
    if style == "pointed":
        rings.append([(top[0] + (p[0] - top[0]) * 0.01, top[1] + (p[1] - top[1]) * 0.01, top[2] + tip) for p in spread])
    return loft(rings)


def polygon_spread(ring, centre, diameter):
    """A level regular polygon whose first corner looks the way of the ring's first one."""
    first = math.atan2(ring[0][1] - centre[1], ring[0][0] - centre[0])
    r = diameter / 2 * swell(math.tau / len(ring))
    angles = [first + math.tau * i / len(ring) for i in range(len(ring))]
    return [(centre[0] + r * math.cos(a), centre[1] + r * math.sin(a), centre[2]) for a in angles]


def v_tip(place, tip, out):
    """Two walls, as long and high as the tip and half as thick, that meet at the corner."""
    x, y, z = place
    a = math.degrees(math.atan2(out[1], out[0])) + 135
    t, h = tip, tip / 2
    return (f"translate([{x:.6f},{y:.6f},{z - 0.0005:.6f}]) rotate({a:.4f}) linear_extrude({tip + 0.0005:.6f}) "
            f"translate([{-h / 2:.6f},{-h / 2:.6f}]) polygon([[0,0],[{t},0],[{t},{h}],[{h},{h}],[{h},{t}],[0,{t}]]);")


def tube(polygon, z, diameter, sides=SIDES):
    """A tube along a closed polygon, mitred at its corners."""
    rings, n = [], len(polygon)
    r = diameter / 2 * swell(math.tau / sides)
    for i, (x, y) in enumerate(polygon):
        bx, by = polygon[i - 1]
        ax, ay = polygon[(i + 1) % n]
        one, two = unit((x - bx, y - by, 0)), unit((ax - x, ay - y, 0))
        out = unit((one[1] + two[1], -one[0] - two[0], 0))
        wide = r / max(0.3, out[0] * one[1] - out[1] * one[0])
        rings.append([(x + out[0] * wide * math.cos(a), y + out[1] * wide * math.cos(a), z + r * math.sin(a))
                      for a in (math.tau * (k + 0.41) / sides for k in range(sides))])
    return loft([ring[::-1] for ring in rings], closed=True)


def plate(outer, inner, low, high):
    text = lambda polygon: ",".join("[%.6f,%.6f]" % p for p in polygon)
    hole = f"polygon([{text(inner)}]);" if inner else ""
    return (f"translate([0,0,{low:.6f}]) linear_extrude({high - low:.6f}) "
            f"difference(){{polygon([{text(outer)}]);{hole}}}")


def seat(centre, inwards, d, through):
    """What a melee stone drills out, from its girdle: a taper to half over 0.43 d, then the drill."""
    bottom = add(centre, inwards, 0.43 * d)
    rings = [disc(add(centre, inwards, through), inwards, d / 2), disc(bottom, inwards, d / 2),
             disc(centre, inwards, d)]
    return loft([ring[::-1] for ring in rings])


def stone(points, depth):
    """Crown, girdle and pavilion over an outline; its room is no metal."""
    ring = lambda k, z: [(x * k, y * k, z) for x, y in points]
    rings = [ring(0.01, -(GIRDLE + PAVILION) * depth), ring(1, -GIRDLE * depth), ring(1, 0),
             ring(TABLE, CROWN * depth)]
    return loft(rings)


def claw_places(head, held, points):
    """Points on the girdle, with normals: by angle on rounds and ovals, else at corners and tips."""
    count = int(head["claws"])
    if held["shape"] in ("round", "oval"):
        found = []
        for i in range(count):
            a = math.radians(head.get("first claw", 0.0)) + math.tau * i / count
            wx, wy = -math.sin(a), math.cos(a)
            x, y = wx * held["width"] / 2, wy * held["length"] / 2
            # where the ray meets the ellipse
            k = 1 / math.hypot(wx / (held["width"] / 2), wy / (held["length"] / 2))
            x, y = wx * k, wy * k
            nx, ny = x / held["width"] ** 2, y / held["length"] ** 2
            size = math.hypot(nx, ny)
            found.append((x, y, nx / size, ny / size, False))
        return found
    return corner_places(held, points, count)


def corner_places(held, points, count):
    found = []
    if held["shape"] in ("emerald", "asscher", "radiant"):
        w, h, c = held["width"] / 2, held["length"] / 2, held["corner"] / 2
        q = math.sqrt(0.5)
        found = [(sx * (w - c), sy * (h - c), sx * q, sy * q, True) for sx, sy in ((-1, 1), (-1, -1), (1, -1), (1, 1))]
    elif held["shape"] == "cushion":
        r, q = held["corner"], math.sqrt(0.5)
        w, h = held["width"] / 2 - r + r * q, held["length"] / 2 - r + r * q
        found = [(sx * w, sy * h, sx * q, sy * q, True) for sx, sy in ((-1, 1), (-1, -1), (1, -1), (1, 1))]
    elif held["shape"] == "pear":
        fine = plan.from_axis(plan.plain(points))
        whole = plan.length(fine)
        runs = [whole * i / count for i in range(count)]
        places = plan.along(fine, runs[1:])
        found = [(0.0, held["length"] / 2, 0.0, 1.0, True)] + [(*p, False) for p in places]
    if len(found) != count:
        raise ValueError(f"{held['shape']} with {count} claws")
    return found


def head(ring, part):
    held = ring["stones"][part["holds"]]
    points = held["points"]
    below = (PAVILION + GIRDLE) * held["depth"]
    inset, base, tip = part.get("inset", 0.0), part["claw diameter"], part["tip diameter"]
    solids = []
    for i in range(int(part["rails"])):
        inside = inset * (1 - i / part["rails"])
        line = plan.parallel(points, -inside) if inside > 0 else plan.plain(points)
        solids.append(tube(plan.thin(line, 0.3, part["rail diameter"]), -below + below * i / part["rails"],
                           part["rail diameter"]))
    for x, y, nx, ny, corner in claw_places(part, held, points):
        style = part["tip style"] if corner and "tip style" in part else part["claw style"]
        for aside in ((base / 2, -base / 2) if style == "double" else (0,)):
            girdle = (x - ny * aside, y + nx * aside, 0.0)
            foot = (girdle[0] - nx * inset, girdle[1] - ny * inset, -below)
            solids.append(claw(foot, girdle, base, tip, style, CROWN * held["depth"]))
            if style == "v":
                top = max(0.0, CROWN * held["depth"] - tip)
                solids.append(v_tip((girdle[0], girdle[1], top), tip, (nx, ny)))
    return solids


def bezel(ring, part):
    held = ring["stones"][part["holds"]]
    top = CROWN * held["depth"] / 3
    inner, outer = plan.plain(held["points"]), plan.parallel(held["points"], part["wall"])
    return [plate(outer, inner, top - part["height"], top)]


def halo(ring, part):
    held = ring["stones"][part["held"]]
    d = part["stone diameter"]
    level = -part.get("drop", 0.0)
    base = part["base"]
    if part["faces"] == "up":
        line = base + part["gap"] + d / 2
        outer, inner = line + d / 2 + part["rim"], min(base, line - d / 2)
        if "inner rim" in part:
            inner = line - d / 2 - part["inner rim"]
            if not part.get("drop"):
                inner = max(inner, min(base, line - d / 2))
        low, high = level - part["thickness"], level
    else:
        line = part["line"] - 0.15 * d if "under" in part else base + part["offset"]
        outer = line + 0.15 * d
        inner = outer - part["thickness"]
        half = d / 2 + part["rim"]
        low, high = level - half, level + half
    part["outer"] = outer
    curve = plan.parallel(held["points"], line)
    count, part["room"], places = plan.closed_row(curve, d, part["spacing"], int(part.get("multiple", 1)))
    part["stones"] = count
    inside = plan.plain(held["points"]) if abs(inner) < 1e-12 else plan.parallel(held["points"], inner)
    solid = plate(plan.parallel(held["points"], outer), inside, low, high)
    seats = []
    for x, y, nx, ny in places:
        if part["faces"] == "up":
            seats.append(seat((x, y, high), (0, 0, -1), d, part["thickness"] + 0.1))
        else:
            seats.append(seat((x, y, level), (-nx, -ny, 0), d, part["thickness"] + 0.1))
    return ["difference(){" + solid + "union(){" + "".join(seats) + "}}"]


def row_seats(ring, part):
    """Melee down both shoulders: equal angles between neighbours, as many as lie wholly on the arc."""
    d, spacing = part["stone diameter"], part["spacing"]
    begin, end = math.radians(part["from"]), math.radians(part["to"])
    face = ring["bore"] / 2 + min(rise(ring, begin + (end - begin) * i / 32, 0.0)[0] for i in range(33))
    r = face - 0.15 * d
    half, step = math.asin(d / 2 / r), 2 * math.asin((d + spacing) / 2 / r)
    count = 1
    while begin + 2 * half + count * step <= end + 1e-9:
        count += 1
    step = (end - begin - 2 * half) / (count - 1) if count > 1 else 0.0
    part["room"] = 2 * r * math.sin(step / 2) - d
    shoulders = int(part.get("shoulders", 2))
    part["stones"] = count * shoulders
    seats = []
    for side in (1, -1)[:shoulders]:
        for i in range(count):
            a = side * (begin + half + step * i)
            out = (math.sin(a), 0.0, math.cos(a))
            centre = (r * out[0], 0.0, r * out[2] - ring["bore"] / 2)
            seats.append(seat(centre, add((0, 0, 0), out, -1), d, rise(ring, abs(a), 0.0)[0] + 0.3))
    return seats


# ---- the whole ----


def moved(place, solids):
    x, y, z, turn = place
    return f"translate([{x:.6f},{y:.6f},{z:.6f}]) rotate({turn:.6f}) {{{''.join(solids)}}}"


def source(ring):
    """The ring's OpenSCAD text; fills in counts of stones on the way."""
    band = shank(ring)
    seats = [s for part in ring["rows"] for s in row_seats(ring, part)]
    if seats:
        band = "difference(){" + band + "union(){" + "".join(seats) + "}}"
    solids, stones = [band], []
    for name, held in ring["stones"].items():
        own = [s for part in ring["heads"] if part["holds"] == name for s in head(ring, part)]
        own += [s for part in ring["bezels"] if part["holds"] == name for s in bezel(ring, part)]
        own += [s for part in ring["halos"] if part["held"] == name for s in halo(ring, part)]
        for place in held["places"]:
            solids.append(moved(place, own))
            stones.append(moved(place, [stone(plan.plain(held["points"]), held["depth"])]))
    return "difference(){union(){" + "\n".join(solids) + "}\n" + "\n".join(stones) + "}\n"
