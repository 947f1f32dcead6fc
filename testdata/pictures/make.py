"""Where astropy's WCS puts the stars of two frames in the frame's pixels, for test/cli/against-astropy-picture.test.ts.

    npm run build && /usr/bin/python3 testdata/pictures/make.py    (Debian: python3-astropy 5.2)

World coordinates from `poleward inspect --wcs`, star places (J2000) from truth.json of testdata/skies. Pixels 0-based.
"""
import json
import subprocess
import sys
import tempfile
import warnings
from pathlib import Path

from astropy.io import fits
from astropy.wcs import WCS

here = Path(__file__).parent
skies = here.parent / 'skies'
main = here.parent.parent / 'dist' / 'cli' / 'main.js'
warnings.simplefilter('ignore')
out = {}
for folder in ('guide-north', 'two-frames-mirrored'):
    truth = json.loads((skies / folder / 'truth.json').read_text())
    frame = truth['frames'][-1]
    site = truth['site']
    with tempfile.TemporaryDirectory() as scratch:
        wcs = Path(scratch) / 'wcs.fits'
        subprocess.run(['node', main, 'inspect', skies / folder / (frame['file'] + '.gz'), '--wcs', wcs,
                        '--latitude', str(site['latitudeDeg']), '--longitude', str(site['longitudeDeg']), '--elevation', str(site['elevationMetres'])],
                       check=True, stdout=subprocess.DEVNULL)
        world = WCS(fits.getheader(wcs))
    places = world.all_world2pix([[s['raDeg'], s['decDeg']] for s in frame['stars']], 0)
    out[folder] = [[round(float(x), 3), round(float(y), 3)] for x, y in places]
(here / 'astropy.json').write_text(json.dumps(out) + '\n')
