#!/usr/bin/python3
"""Writes the tables that test/sky/against-erfa.test.ts compares with: python3 testdata/erfa/make.py

Needs python3-erfa (written with ERFA 2.0.0) and numpy. Sites, airs, dates and directions are invented, the rest is ERFA's.
UT1 - UTC is zero, since nobody at a mount knows it; polar motion is zero or invented, and given with each place. UTC after 2017 keeps TAI - UTC = 37 s.
"""
import json
import math
import os
import warnings

import erfa
import numpy as np

warnings.simplefilter("ignore", erfa.ErfaWarning)  # years far from the last leap second are "dubious"
HERE = os.path.dirname(os.path.abspath(__file__))
rng = np.random.default_rng(20000101)


def times(utc):
    """(UTC as quasi-JD, TT as JD) of "2026-11-25T20:15:00" """
    date, clock = utc.split("T")
    u1, u2 = erfa.dtf2d("UTC", *map(int, date.split("-")), *map(int, clock.split(":")))
    return (u1, u2), erfa.taitt(*erfa.utctai(u1, u2))


def random_dates(n):
    out = []
    for i in range(n):
        # one in each n-th of 2000 to 2050, at any hour
        year = 2000 + 51 * (i + rng.random()) / n
        day = int(365 * (year % 1)) + 1
        jd1, jd2 = erfa.cal2jd(int(year), 1, 1)
        y, m, d, _ = erfa.jd2cal(jd1, jd2 + day - 1)
        h, minute, s = rng.integers(24), rng.integers(60), rng.integers(60)
        out.append(f"{y:04d}-{m:02d}-{d:02d}T{h:02d}:{minute:02d}:{s:02d}")
    return out


def write(name, about, columns, rows, **more):
    with open(os.path.join(HERE, name), "w") as f:
        f.write('{\n "about": ' + json.dumps(about) + ",\n")
        for key, value in more.items():
            f.write(f' "{key}": ' + json.dumps(value) + ",\n")
        f.write(' "columns": ' + json.dumps(columns) + ',\n "rows": [\n')
        f.write(",\n".join("  " + json.dumps(row) for row in rows))
        f.write("\n ]\n}\n")
    print(name, len(rows))


def pole_of_date():
    rows = []
    for utc in random_dates(120):
        _, tt = times(utc)
        x, y, z = erfa.pnm06a(*tt)[2]
        rows.append([utc + "Z", round(float(x), 12), round(float(y), 12), round(float(z), 12)])
    write("pole-of-date.json", "Celestial intermediate pole in GCRS, third row of pnm06a (IAU 2006/2000A)",
          ["utc", "x", "y", "z"], rows)


def sidereal_time():
    rows = []
    for utc in random_dates(120):
        ut1, tt = times(utc)
        rows.append([utc + "Z", round(math.degrees(erfa.gst06a(*ut1, *tt)) / 15, 9)])
    write("sidereal-time.json", "Greenwich apparent sidereal time, gst06a, UT1 = UTC", ["utc", "hours"], rows)


WAVELENGTH = 0.55
# latitude, longitude (degrees), elevation (m), pressure (hPa), temperature (C), humidity
SITES = [
    [10.2, -67.6, 440, 962.0, 24.0, 0.8],
    [28.3, -16.5, 2390, 770.5, 8.0, 0.2],
    [45.9, 9.1, 350, 0.0, 10.0, 0.5],
    [52.1, 5.2, 2, 1031.0, -9.0, 0.9],
    [69.7, 19.0, 90, 985.0, -21.0, 0.7],
    [-11.5, 131.0, 30, 1006.0, 29.0, 0.9],
    [-23.0, -67.8, 4800, 565.0, -3.0, 0.1],
    [-36.9, 174.7, 60, 1005.0, 11.0, 0.75],
    [-54.8, -68.3, 20, 978.0, 2.0, 0.8],
    [-70.0, 11.8, 120, 968.0, -15.0, 0.6],
]


def sun_distance(tt, ra, dec):
    """Degrees from the Sun, which bends light that passes near it."""
    earth, _ = erfa.epv00(*tt)
    return math.degrees(erfa.sepp(-earth["p"], erfa.s2c(math.radians(ra), math.radians(dec))))


def observed_places():
    rows = []
    for site, (lat, lon, elevation, pressure, temperature, humidity) in enumerate(SITES):
        for utc in random_dates(9):
            ut, tt = times(utc)
            kept = 0
            while kept < 9:
                # seven of nine within 45 degrees of the elevated pole, evenly in distance; the others anywhere
                ra = rng.random() * 360
                polar = rng.random() * 45 if kept < 7 else math.degrees(math.acos(2 * rng.random() - 1))
                dec = (90 - polar) * math.copysign(1, lat)
                ra, dec = round(ra, 6), round(dec, 6)
                xp, yp = (0.0, 0.0) if kept % 2 else (round(rng.uniform(-0.5, 0.5), 3), round(rng.uniform(-0.5, 0.5), 3))
                az, zd, *_ = erfa.atco13(math.radians(ra), math.radians(dec), 0, 0, 0, 0, *ut, 0, math.radians(lon),
                                         math.radians(lat), elevation, math.radians(xp / 3600), math.radians(yp / 3600), pressure, temperature, humidity, WAVELENGTH)
                if math.degrees(zd) > (75 if abs(lat) > 15 else 82):
                    if kept < 7 and abs(lat) < 50 and rng.random() < 0.9:
                        continue
                    if math.degrees(zd) > 82:
                        continue
                kept += 1
                rows.append([site, utc + "Z", ra, dec, round(math.degrees(az), 8), round(math.degrees(zd), 8),
                             round(sun_distance(tt, ra, dec), 1), xp, yp])
    write("observed-places.json",
          "atco13: ICRS to observed azimuth (north through east) and zenith distance, degrees; UT1 - UTC = 0, "
          f"polar motion as given, no proper motion, no parallax, wavelength {WAVELENGTH} micrometres",
          ["site", "utc", "raDeg", "decDeg", "azimuthDeg", "zenithDistanceDeg", "sunDistanceDeg", "polarXArcsec", "polarYArcsec"], rows,
          siteColumns=["latitudeDeg", "longitudeDeg", "elevationMetres", "pressureHectopascal", "temperatureCelsius",
                       "relativeHumidity"],
          sites=SITES)


def refraction():
    """A, B of refco, and the refraction at true altitudes as atioq gives it, in arcseconds."""
    rows = []
    for pressure in (550.0, 700.0, 850.0, 950.0, 1013.25, 1045.0):
        for temperature in (-30.0, -5.0, 10.0, 35.0):
            for humidity in (0.0, 0.5, 1.0):
                a, b = erfa.refco(pressure, temperature, humidity, WAVELENGTH)
                lifted = []
                for altitude in (75, 45, 30, 20, 15):
                    def zenith_distance(p):
                        # A star on the celestial equator's meridian seen from a latitude that puts it at this altitude.
                        astrom = erfa.apio(0, 0, 0, math.radians(90 - altitude), 0, 0, 0,
                                           *(erfa.refco(p, temperature, humidity, WAVELENGTH)))
                        return erfa.atioq(0.0, 0.0, astrom)[1]
                    lifted.append(round(math.degrees(zenith_distance(0.0) - zenith_distance(pressure)) * 3600, 4))
                rows.append([pressure, temperature, humidity, round(math.degrees(a) * 3600, 6),
                             round(math.degrees(b) * 3600, 7), lifted])
    write("refraction.json",
          f"refco and the refraction of atioq at true altitudes 75, 45, 30, 20, 15 degrees, wavelength {WAVELENGTH} micrometres",
          ["pressureHectopascal", "temperatureCelsius", "relativeHumidity", "aArcsec", "bArcsec", "refractionArcsec"], rows)


pole_of_date()
sidereal_time()
observed_places()
refraction()
