#!/usr/bin/python3
"""Writes the tables that test/sky/tonight-against-erfa.test.ts compares with: python3 testdata/tonight/make.py

Needs python3-erfa (written with ERFA 2.0.0) and numpy. Sites and dates are invented, the rest is ERFA's: stars by atco13, the Sun by
epv00, the Moon by moon98. UT1 = UTC, no polar motion, no air.
"""
import json
import math
import os
import warnings

import erfa
import numpy as np

warnings.simplefilter("ignore", erfa.ErfaWarning)
HERE = os.path.dirname(os.path.abspath(__file__))
AU = 149597870.7e3
# Hipparcos, new reduction (van Leeuwen 2007), epoch J2000: RA, dec (degrees), motion in RA (cos dec included) and dec (mas a year). From memory.
STARS = {1: (37.9545607, 89.264109, 44.48, -11.85), -1: (317.1952649, -88.9564995, 26.0, 5.0)}
SITES = [[39.2, -3.4, 710], [64.1, -21.9, 40], [52.0, 179.3, 20], [5.5, 100.3, 10], [-33.9, 18.4, 60], [-44.0, -176.5, 15], [-54.8, -68.3, 20], [69.7, 19.0, 90]]
DATES = [(2025, 1, 12), (2025, 7, 3), (2026, 3, 20), (2026, 11, 25), (2027, 9, 23), (2028, 6, 21), (2029, 12, 21), (2031, 4, 8)]


def at(jd):
    """UTC as quasi-JD in two parts, TT as JD."""
    u = (math.floor(jd), jd - math.floor(jd))
    return u, erfa.taitt(*erfa.utctai(*u))


def iso(jd):
    y, mo, d, f = erfa.jd2cal(math.floor(jd), jd - math.floor(jd))
    s = round(f * 86400)
    if s == 86400:
        return iso(jd + 0.4 / 86400)
    return f"{int(y):04d}-{int(mo):02d}-{int(d):02d}T{s // 3600:02d}:{s // 60 % 60:02d}:{s % 60:02d}Z"


def pole_star():
    rows = []
    for k, (lat, lon, up) in enumerate(SITES):
        hemisphere = 1 if lat > 0 else -1
        ra, dec, mra, mdec = STARS[hemisphere]
        for i, date in enumerate(DATES):
            jd = sum(erfa.cal2jd(*date)) + round((0.137 * (i + 3 * k) % 1) * 86400) / 86400
            u, _ = at(jd)
            r, d = math.radians(ra), math.radians(dec)
            mas = math.radians(1 / 3.6e6)
            _, _, ha, ob_dec, _, _ = erfa.atco13(r, d, mra * mas / math.cos(d), mdec * mas, 0, 0, *u, 0, math.radians(lon), math.radians(lat), up, 0, 0, 0, 0, 0, 0.55)
            rows.append([k, iso(jd), round(math.degrees(ha) / 15 % 24, 6), round(60 * (90 - hemisphere * math.degrees(ob_dec)), 5)])
    return rows


def altitude_dec(direction_of, jd, site, sun):
    """Altitude of a body (degrees) and its apparent topocentric declination, from GCRS metres."""
    lat, lon, up = site
    u, tt = at(jd)
    earth_h, earth_b = erfa.epv00(*tt)
    p = direction_of(tt, earth_h)
    rnpb = erfa.pnm06a(*tt)
    gast = erfa.gst06a(*u, *tt)
    observer = erfa.pvtob(math.radians(lon), math.radians(lat), up, 0, 0, 0, gast)["p"]  # true equator and equinox
    v = rnpb @ p - observer
    unit = v / np.linalg.norm(v)
    # annual aberration; light time of the Moon is 1.3 s, and its own motion in that is half an arcsecond
    speed = rnpb @ earth_b["v"] * AU / 86400 / 299792458
    unit = unit + speed
    unit = unit / np.linalg.norm(unit)
    ra, dec = math.atan2(unit[1], unit[0]), math.asin(unit[2])
    ha = gast + math.radians(lon) - ra
    la = math.radians(lat)
    return math.degrees(math.asin(math.sin(la) * math.sin(dec) + math.cos(la) * math.cos(dec) * math.cos(ha))), math.degrees(dec)


def sun(tt, earth_h):
    return -earth_h["p"] * AU


def moon(tt, earth_h):
    return erfa.moon98(*tt)["p"] * AU


def crossing(f, low, high):
    falling = f(low) > f(high)
    for _ in range(40):
        middle = (low + high) / 2
        if (f(middle) > 0) == falling:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def darkness():
    rows = []
    for k, site in enumerate(SITES):
        for date in DATES:
            noon = sum(erfa.cal2jd(*date)) + 0.5 - site[1] / 360
            grid = [noon + i / 288 for i in range(289)]
            alts = [altitude_dec(sun, t, site, True)[0] for t in grid]
            ends = []
            for limit in (-50 / 60, -12, -18):
                below = [a < limit for a in alts]
                if not any(below) or all(below):
                    ends.append("all" if all(below) else "none")
                    continue
                if below[0] or below[-1]:
                    ends.append("other")  # begins or ends in the dark: polar night, left out
                    continue
                first = below.index(True)
                last = len(below) - 1 - below[::-1].index(True)
                f = lambda t: altitude_dec(sun, t, site, True)[0] - limit
                ends.append([iso(crossing(f, grid[first - 1], grid[first])), iso(crossing(f, grid[last], grid[last + 1]))])
            rows.append([k, f"{date[0]:04d}-{date[1]:02d}-{date[2]:02d}", *ends])
    return rows


def moons():
    rows = []
    for k, site in enumerate(SITES):
        for i, date in enumerate(DATES):
            jd = sum(erfa.cal2jd(*date)) + round((0.31 * (i + 5 * k) % 1) * 86400) / 86400
            alt, dec = altitude_dec(moon, jd, site, False)
            _, tt = at(jd)
            earth_h, _ = erfa.epv00(*tt)
            m, s = moon(tt, earth_h), sun(tt, earth_h)
            # Angle at the Moon between Earth's centre and the Sun.
            to_earth, to_sun = -m, s - m
            cosine = to_earth @ to_sun / np.linalg.norm(to_earth) / np.linalg.norm(to_sun)
            rows.append([k, iso(jd), round(float((1 + cosine) / 2), 5), round((90 - dec) if site[0] > 0 else (90 + dec), 4), round(alt, 4)])
    return rows


tables = {
    "about": "ERFA: pole stars (site, UTC, hour angle in h, distance from the pole of date in arcmin); Sun (site, date of the evening at the site's meridian, "
             "below -50', -12, -18 degrees from and to); Moon (site, UTC, lit share, degrees from the elevated pole, altitude); no air",
    "sites": SITES, "poleStar": pole_star(), "darkness": darkness(), "moon": moons(),
}
with open(os.path.join(HERE, "tonight.json"), "w") as out:
    out.write("{\n" + ",\n".join(f' "{k}": ' + (json.dumps(v) if isinstance(v, str) else "[\n" + ",\n".join("  " + json.dumps(r) for r in v) + "\n ]") for k, v in tables.items()) + "\n}\n")
print({k: len(v) for k, v in tables.items()})
