#!/usr/bin/python3
"""What a misaligned axis does to a star, by another road than src/run: ERFA's spherical trigonometry (hd2ae, seps, pas, refco).

Writes against-erfa.json beside itself. Needs Debian's python3-erfa, python3-numpy. All cases are invented.
The mount is a second celestial sphere whose pole is the axis: a star's place on it is a separation from the axis and a position
angle at the axis (counted from the zenith), from which the sidereal turn is taken off. No rotation matrix is used.
"""
import json, math, os
import erfa, numpy as np

DEG = math.pi / 180
RATE = 2 * math.pi / 86164.0905  # radians a second, mean sidereal day (Explanatory Supplement)


def refract(az, el, air):
    if air is None:
        return az, el
    a, b = erfa.refco(air["hPa"], air["C"], air["humidity"], 0.55)
    z = math.pi / 2 - el
    true = z
    for _ in range(50):
        t = math.tan(z)
        z = true - a * t - b * t ** 3
    return az, math.pi / 2 - z


def seen(case, hours):
    ha = case["hourAngleHours"] * 15 * DEG + RATE * 3600 * hours
    az, el = erfa.hd2ae(ha, case["declinationDeg"] * DEG, case["latitudeDeg"] * DEG)
    return refract(float(az), float(el), case["air"])


def axis_of(case):
    south = case["latitudeDeg"] < 0
    _, alt = refract(0, abs(case["latitudeDeg"]) * DEG, case["air"])
    return ((math.pi if south else 0) + (-1 if south else 1) * case["azimuthErrorArcmin"] / 60 * DEG,
            alt + case["altitudeErrorArcmin"] / 60 * DEG)


def on_mount(case, hours):
    """(longitude on the mount, separation from the axis)"""
    axis, star = axis_of(case), seen(case, hours)
    south = case["latitudeDeg"] < 0
    turn = (-1 if south else 1) * RATE * 3600 * hours
    # Azimuth runs clockwise from above as right ascension would from inside: pas counts from "north" (zenith) toward rising azimuth.
    angle = erfa.pas(axis[0], axis[1], star[0], star[1])
    return float(angle) + turn, float(erfa.seps(axis[0], axis[1], star[0], star[1]))


def drift(case, begin, end):
    """Distance between two moments, radians."""
    (l1, d1), (l2, d2) = on_mount(case, begin), on_mount(case, end)
    away = erfa.seps(l1, math.pi / 2 - d1, l2, math.pi / 2 - d2)
    return float(away)


def angle_at_star(case, hours):
    """At the star, from the direction of the true pole to that of the axis, no air."""
    star, axis = seen(case, hours), axis_of(case)
    south = case["latitudeDeg"] < 0
    pole = (math.pi if south else 0.0, abs(case["latitudeDeg"]) * DEG)
    return float(erfa.pas(star[0], star[1], *axis) - erfa.pas(star[0], star[1], *pole))


CASES = []
for lat, dec, ha, alt, az, hours, exposure, air in [
    (45, 0, -3, 1, 0, 1, 60, None), (47.3, 41.3, -2.5, 3.2, -5, 4, 180, None), (39.2, 69, 1, -12, 26, 3, 300, None),
    (-31, -60, -3, 8, 11, 5, 240, None), (-33, 12, -1.5, -4, -9, 2, 120, None), (28, 85, -6, 15, 20, 6, 600, None), (60, 30, 2, -30, 45, 1.5, 900, None),
    (47.3, 41.3, -2.5, 3.2, -5, 4, 180, True), (50, 5, -2, 0, 0, 4, 300, True), (-31, -60, -3, 0, 0, 5, 240, True), (35, -20, -1, 2, 1, 2, 300, True), (39.2, 69, 1, -12, 26, 3, 300, True),
]:
    CASES.append({"latitudeDeg": lat, "declinationDeg": dec, "hourAngleHours": ha, "altitudeErrorArcmin": alt, "azimuthErrorArcmin": az,
                  "hours": hours, "exposureSeconds": exposure, "air": {"hPa": 1000.0, "C": 10.0, "humidity": 0.5} if air else None})

for case in CASES:
    step = case["exposureSeconds"] / 3600
    begins = np.linspace(0, case["hours"] - step, 2001)
    case["driftArcsecPerExposure"] = max(drift(case, b, b + step) for b in begins) * 3600 / DEG
    case["driftFirstExposureArcsec"] = drift(case, 0, step) * 3600 / DEG
    if case["air"] is None:
        q = np.unwrap([angle_at_star(case, b) for b in np.linspace(0, case["hours"], 2001)])
        case["fieldRotationDeg"] = abs(q[-1] - q[0]) / DEG
        case["fieldRotationSpanDeg"] = (q.max() - q.min()) / DEG
        case["largestRotationInExposureDeg"] = max(abs(math.remainder(angle_at_star(case, b + step) - angle_at_star(case, b), 2 * math.pi)) for b in begins) / DEG

with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "against-erfa.json"), "w") as f:
    json.dump(CASES, f, indent=1)
    f.write("\n")
