"""Places of ICRS directions by astropy's WCS from the headers here (written by `npx tsx testdata/wcs/view.ts`).

Run: npx tsx testdata/wcs/view.ts && /usr/bin/python3 testdata/wcs/make.py   (astropy 5.2.1)
"""
import json
import os

import astropy
import numpy as np
from astropy.io import fits
from astropy.wcs import WCS

here = os.path.dirname(os.path.abspath(__file__))
for name in ("wide", "guide"):
    path = os.path.join(here, name + ".fits")
    with fits.open(path) as hdus:
        hdus.verify("exception")
        wcs = WCS(hdus[0].header)
    x, y = np.meshgrid(np.linspace(2, 1597, 15), np.linspace(2, 1097, 11))
    ra, dec = wcs.all_pix2world(x.ravel(), y.ravel(), 0)
    rows = [[round(float(v), d) for v, d in zip(row, (7, 7, 3, 3))] for row in zip(ra, dec, x.ravel(), y.ravel())]
    with open(os.path.join(here, name + ".json"), "w") as out:
        json.dump({"about": f"astropy {astropy.__version__} WCS.all_pix2world of {name}.fits: raDeg, decDeg (ICRS), x, y (0-based)", "rows": rows}, out)
        out.write("\n")
