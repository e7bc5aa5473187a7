"""Volumes of shanks by plain quadrature, outside the program.

Prints the rows of tests/reference/shanks.csv whose source names this script. Nothing of the
closed forms in src/geometry is used: the integrand ((R+h)^2 - (R+e)^2)/2 is summed over the
width with x = sin(phi), where it is smooth, and over the angle in panels that end at
stations, at the ends of the arc and where the thickness meets the wall. 48 Gauss points a
panel and across; the same with 32 points must agree to 1e-12. Standard library only.
"""
import math


def gauss(n):
    """Nodes and weights of Gauss-Legendre on [0, 1] by Newton's method."""
    rule = []
    for i in range(1, n + 1):
        x = math.cos(math.pi * (i - 0.25) / (n + 0.5))
        for _ in range(100):
            p0, p1 = 1.0, x
            for k in range(2, n + 1):
                p0, p1 = p1, ((2 * k - 1) * x * p1 - (k - 1) * p0) / k
            slope = n * (x * p1 - p0) / (x * x - 1)
            step = p1 / slope
            x -= step
            if abs(step) < 1e-16:
                break
        rule.append(((1 - x) / 2, 1 / ((1 - x * x) * slope * slope)))
    return rule


def outer(profile, x, t, k):
    k = min(k, t)
    arch = math.sqrt(max(0.0, 1 - x * x))
    return {
        "flat": t,
        "half round": k + (t - k) * arch,
        "knife edge": k + (t - k) * (1 - abs(x)),
        "court": t * (0.6 + 0.4 * arch),
        "round wire": t / 2 * (1 + arch),
    }[profile]


def inner(profile, x, t):
    arch = math.sqrt(max(0.0, 1 - x * x))
    return {"court": 0.2 * t * (1 - arch), "round wire": t / 2 * (1 - arch)}.get(profile, 0.0)


def panels(stations, wall, begin, end):
    cuts = {begin, end}
    for (a0, _, t0, _), (a1, _, t1, _) in zip(stations, stations[1:]):
        cuts |= {a0, a1}
        if (t0 - wall) * (t1 - wall) < 0:
            cuts.add(a0 + (a1 - a0) * (t0 - wall) / (t0 - t1))
    cuts = sorted(c for c in cuts if begin <= c <= end)
    return list(zip(cuts, cuts[1:]))


def half(radius, wall, stations, begin, end, n):
    """Volume of one half between two angles, radians from the top."""
    rule = gauss(n)
    across = [(math.sin(p * math.pi / 2), w * math.cos(p * math.pi / 2) * math.pi / 2)
              for p, w in rule]
    parts = []
    for low, high in panels(stations, wall, begin, end):
        middle = (low + high) / 2
        (a0, w0, t0, p0), (a1, w1, t1, p1) = next(
            pair for pair in zip(stations, stations[1:]) if pair[0][0] <= middle <= pair[1][0])
        for node, weight in rule:
            s = (low + (high - low) * node - a0) / (a1 - a0)
            width, t = w0 + (w1 - w0) * s, t0 + (t1 - t0) * s
            for x, share in across:
                h = (1 - s) * outer(p0, x, t, wall) + s * outer(p1, x, t, wall)
                e = (1 - s) * inner(p0, x, t) + s * inner(p1, x, t)
                parts.append(((radius + h) ** 2 - (radius + e) ** 2) / 2
                             * width * share * weight * (high - low))
    return math.fsum(parts)


def volume(radius, wall, open_deg, stations, n=48):
    made = [(math.radians(a), w, t, p) for a, w, t, p in stations]
    made[-1] = (math.pi,) + made[-1][1:]
    return 2 * half(radius, wall, made, math.radians(open_deg) / 2, math.pi, n)


CASES = [
    (8.255, 0, 0, [(0, 2.0, 1.8, "court"), (180, 2.0, 1.8, "court")]),
    (8.255, 0, 90, [(0, 2.0, 1.8, "court"), (180, 2.0, 1.8, "court")]),
    (8.6614, 0, 0, [(0, 2.2, 1.6, "court"), (180, 4.4, 2.1, "court")]),
    (7.5, 0, 0, [(0, 3.0, 2.0, "court"), (180, 2.2, 1.5, "half round")]),
    (9.1, 0.4, 50, [(0, 2.4, 1.9, "knife edge"), (180, 3.6, 1.7, "court")]),
    (8.0, 0, 0, [(0, 2.0, 1.6, "round wire"), (180, 2.6, 2.0, "court")]),
    (8.255, 1.5, 0, [(0, 2.0, 1.2, "half round"), (180, 3.0, 2.4, "half round")]),
    (8.255, 1.5, 40, [(0, 2.0, 2.2, "knife edge"), (180, 3.0, 1.1, "half round")]),
    (8.255, 3.0, 0, [(0, 2.0, 1.8, "knife edge"), (180, 2.0, 1.8, "knife edge")]),
    (8.255, 0, 0, [(0, 2.0, 1.8, "knife edge"), (60, 2.4, 1.7, "half round"),
                   (180, 3.2, 1.5, "flat")]),
    (9.0, 0.3, 45, [(0, 2.2, 2.0, "knife edge"), (30, 2.0, 2.0, "knife edge"),
                    (95, 2.6, 1.8, "court"), (180, 3.4, 1.6, "round wire")]),
]


def main():
    for radius, wall, open_deg, stations in CASES:
        fine = volume(radius, wall, open_deg, stations)
        coarse = volume(radius, wall, open_deg, stations, 32)
        assert abs(fine - coarse) <= 1e-12 * fine
        text = " ".join(f"{a:g}:{w:g}:{t:g}:{p}" for a, w, t, p in stations)
        print(f"{radius:g},{wall:g},{open_deg:g},{text},{fine:.12g},1e-9,"
              "independent program tests/independent/shank_quadrature.py")


if __name__ == "__main__":
    main()
