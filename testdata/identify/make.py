#!/usr/bin/python3
"""
Makes fields.bin beside it: 1,000 star fields that are nowhere near a celestial pole, as a camera would list their stars.

Stars: Tycho-2 (Hog et al. 2000, A&A 355, L27) from the Debian package astrometry-data-tycho2-07-littleendian, all with
|declination| < 40 degrees. Each field is invented: a random place such that all its corners stay within that belt, a
width from 0.5 to 60 degrees (log-uniform), any roll, either parity, an aspect ratio of 1, 4:3 or 3:2, the 40 to 60
brightest stars (or as many as there are), projected gnomonically.

Layout, little-endian: uint16 count of fields; then for each field uint16 width, uint16 height (pixels), uint16 field
width (hundredths of a degree), uint8 count of stars, and for each star, brightest first, uint16 x, uint16 y (65535ths
of width - 1 and height - 1) and uint8 magnitude (tenths, from -2).

Run: /usr/bin/python3 testdata/identify/make.py
"""
import struct
from pathlib import Path

import numpy as np
from astropy.io import fits

INDEX = "/usr/share/astrometry/index-tycho2-07.littleendian.fits"
BELT = np.radians(40)
FIELDS = 1000


def tycho():
    """Unit vectors and VT of the belt's stars, brightest first."""
    with fits.open(INDEX) as hdus:
        tables = {h.header.get("TTYPE1"): h for h in hdus}
        packed = np.frombuffer(raw(tables["kdtree_data_stars"]), "<u4").reshape(-1, 3)
        span = np.frombuffer(raw(tables["kdtree_range_stars"]), "<f8")
        magnitude = np.frombuffer(raw(tables["MAG_VT"]), ">f4").astype(float)
    stars = span[:3] + packed / span[6]
    belt = np.abs(stars[:, 2]) < np.sin(BELT)
    stars, magnitude = stars[belt], magnitude[belt]
    order = np.argsort(magnitude, kind="stable")
    return stars[order], magnitude[order]


def raw(hdu):
    """The bytes of a table as they lie in the file: the index stores little-endian numbers where FITS expects others."""
    info = hdu.fileinfo()
    with open(INDEX, "rb") as file:
        file.seek(info["datLoc"])
        return file.read(hdu.header["NAXIS1"] * hdu.header["NAXIS2"])


def field(random, stars, magnitude):
    """One field as (width, height, degrees across, pixels, magnitudes)."""
    across = np.radians(np.exp(random.uniform(np.log(0.5), np.log(60))))
    aspect = random.choice([1, 3 / 4, 2 / 3])
    width = int(random.choice([640, 800, 1280, 1936, 3008, 4656, 6248, 9500]))
    height = round(width * aspect)
    focal = width / 2 / np.tan(across / 2)
    half_diagonal = np.arctan(np.hypot(width, height) / 2 / focal)
    room = BELT - half_diagonal
    declination = np.arcsin(random.uniform(-np.sin(room), np.sin(room)))
    ascension = random.uniform(0, 2 * np.pi)
    z = np.array([np.cos(declination) * np.cos(ascension), np.cos(declination) * np.sin(ascension), np.sin(declination)])
    east = np.array([-np.sin(ascension), np.cos(ascension), 0])
    north = np.cross(z, east)
    roll = random.uniform(0, 2 * np.pi)
    u = np.cos(roll) * east + np.sin(roll) * north
    v = -np.sin(roll) * east + np.cos(roll) * north
    if random.random() < 0.5:
        u = -u
    depth = stars @ z
    near = np.flatnonzero(depth > np.cos(half_diagonal))
    x = focal * (stars[near] @ u) / depth[near] + (width - 1) / 2
    y = focal * (stars[near] @ v) / depth[near] + (height - 1) / 2
    inside = (x >= 0) & (y >= 0) & (x <= width - 1) & (y <= height - 1)
    kept = np.flatnonzero(inside)[: random.integers(40, 61)]
    return width, height, np.degrees(across), x[kept], y[kept], magnitude[near][kept]


def main():
    random = np.random.default_rng(20260101)
    stars, magnitude = tycho()
    out = [struct.pack("<H", FIELDS)]
    for _ in range(FIELDS):
        width, height, degrees, x, y, m = field(random, stars, magnitude)
        out.append(struct.pack("<HHHB", width, height, round(100 * degrees), len(x)))
        for i in range(len(x)):
            out.append(struct.pack("<HHB", round(x[i] / (width - 1) * 65535), round(y[i] / (height - 1) * 65535),
                                   int(np.clip(round((m[i] + 2) * 10), 0, 255))))
    target = Path(__file__).with_name("fields.bin")
    target.write_bytes(b"".join(out))
    print(f"{FIELDS} fields, {target.stat().st_size} bytes")


main()
