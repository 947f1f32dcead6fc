"""Numbers for test/run/against-numpy.test.ts and test/stars/against-sep-shapes.test.ts.

Needs Debian's python3-numpy and python3-sep. Everything here is invented; the pictures are rendered by this script alone:
elongated Gaussian stars integrated over pixels by 5x5 points, Poisson sky. Run: /usr/bin/python3 testdata/run/makeFields.py
"""
import base64
import gzip
import json
import pathlib

import numpy as np
import sep

here = pathlib.Path(__file__).parent
rng = np.random.default_rng(20261125)

# Maps between two star lists: weighted least squares by numpy.linalg.lstsq, rotation by the polar decomposition (numpy.linalg.svd).
maps = []
for kind, count in (("affine", 40), ("affine", 12), ("similarity", 6), ("similarity", 4)):
    ax, ay = rng.uniform(0, 2000, count), rng.uniform(0, 1400, count)
    sigma = rng.uniform(0.05, 0.3, count)
    angle = rng.uniform(-3, 3)
    c, s = np.cos(angle), np.sin(angle)
    shear = np.array([[1.0004, 0.0003], [0.0003, 0.9997]]) if kind == "affine" else np.eye(2) * 1.0002
    m = np.array([[c, -s], [s, c]]) @ shear
    to = (m @ np.vstack([ax - 1000, ay - 700])).T + [1000 + 37.2, 700 - 11.9] + rng.normal(size=(count, 2)) * sigma[:, None]
    u, v, w = ax - 1000, ay - 700, 1 / sigma
    if kind == "affine":
        design = np.column_stack([np.ones(count), u, v])
        px, *_ = np.linalg.lstsq(design * w[:, None], (to[:, 0] - 1000) * w, rcond=None)
        py, *_ = np.linalg.lstsq(design * w[:, None], (to[:, 1] - 700) * w, rcond=None)
        matrix = np.array([px[1:], py[1:]])
        shift = [px[0], py[0]]
    else:
        one, zero = np.ones(count), np.zeros(count)
        design = np.vstack([np.column_stack([one, zero, u, -v]) * w[:, None], np.column_stack([zero, one, v, u]) * w[:, None]])
        p, *_ = np.linalg.lstsq(design, np.concatenate([(to[:, 0] - 1000) * w, (to[:, 1] - 700) * w]), rcond=None)
        matrix = np.array([[p[2], -p[3]], [p[3], p[2]]])
        shift = [p[0], p[1]]
    left, _, right = np.linalg.svd(matrix)
    turn = left @ right
    maps.append({"kind": kind, "fromX": ax.tolist(), "fromY": ay.tolist(), "toX": to[:, 0].tolist(), "toY": to[:, 1].tolist(),
                 "sigma": sigma.tolist(), "shift": [float(x) for x in shift], "rotation": float(np.arctan2(turn[1, 0], turn[0, 0])),
                 "scale": float(np.sqrt(abs(np.linalg.det(matrix))))})

# Pictures of elongated stars, and what sep.extract says of their shapes (a, b: rms along the axes; theta; brightest 12).
pictures = []
size = 150
yy, xx = np.mgrid[0:size, 0:size].astype(float)
offsets = (np.arange(5) - 2) / 5
for long, short, theta in ((1.8, 1.3, 0.5), (1.5, 1.5, 0.0), (2.6, 1.6, -1.1)):
    picture = np.full((size, size), 200.0)
    places = [(25 + 33 * i + rng.uniform(-3, 3), 25 + 33 * k + rng.uniform(-3, 3)) for i in range(4) for k in range(4)]
    for x, y in places:
        light = np.zeros_like(picture)
        for dx in offsets:
            for dy in offsets:
                a, b = xx + dx - x, yy + dy - y
                p, q = a * np.cos(theta) + b * np.sin(theta), -a * np.sin(theta) + b * np.cos(theta)
                light += np.exp(-0.5 * ((p / long) ** 2 + (q / short) ** 2)) / 25
        picture += 12000 * light
    data = rng.poisson(picture).astype(np.uint16)
    values = data.astype(float)
    background = sep.Background(values)
    found = sep.extract(values - background.back(), 2.0, err=background.globalrms, minarea=5, filter_kernel=None)
    # Moments of the pixels above 2 sigma, unfiltered: what is cut off makes a and b low by a percent or two.
    found = found[np.argsort(-found["flux"])][:12]
    pictures.append({"width": size, "height": size, "pixels": base64.b64encode(data.astype("<u2").tobytes()).decode(), "long": long, "short": short, "theta": theta,
                     "sep": {"a": float(np.median(found["a"])), "b": float(np.median(found["b"])), "theta": float(np.median(found["theta"]))}})

(here / "maps.json").write_text(json.dumps(maps))
(here / "shapes.json.gz").write_bytes(gzip.compress(json.dumps(pictures).encode(), mtime=0))
