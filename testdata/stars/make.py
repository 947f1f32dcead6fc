#!/usr/bin/python3
"""Lists the stars of ../skies with two general-purpose programs, for the tests in test/stars/against-*.test.ts.

Needs Debian's source-extractor, python3-sep, python3-astropy. Writes source-extractor.json and sep.json beside itself.

source-extractor: its default filter (3x3 convolution 1 2 1) and DETECT_MINAREA 5, DETECT_THRESH 1.5 (its default), 3 and 5;
its threshold counts sigmas of the unfiltered picture, so 1.5 in five connected pixels is near five sigmas of a matched filter.
sep: matched filter with a Gaussian of FWHM 2.5 px, threshold 5 in units of the filtered picture's noise, minarea 3.
Places are windowed (XWIN, YWIN; sep.winpos) and turned to 0-based. Columns of a row: x, y, signal to noise, flags.
"""
import gzip, json, os, subprocess, tempfile
import numpy as np
import sep
from astropy.io import fits
import astropy

here = os.path.dirname(os.path.abspath(__file__))
skies = os.path.join(here, '..', 'skies')
frames = ['adjusting/frame-4', 'guide-north/frame-1', 'guide-north/frame-3', 'guide-south-tracking/frame-2', 'slipped/frame-1',
          'telescope-north/frame-1', 'telescope-north/frame-3', 'two-frames-mirrored/frame-2', 'wide-lens-south/frame-1', 'wide-lens-south/frame-3']


def source_extractor(path, threshold, folder):
    params = os.path.join(folder, 'p.param')
    conv = os.path.join(folder, 'd.conv')
    out = os.path.join(folder, 'out.cat')
    open(params, 'w').write('XWIN_IMAGE\nYWIN_IMAGE\nSNR_WIN\nFLAGS\n')
    open(conv, 'w').write('CONV NORM\n1 2 1\n2 4 2\n1 2 1\n')
    open(os.path.join(folder, 'none.nnw'), 'w').close()
    subprocess.run(['source-extractor', path, '-c', '/dev/null', '-CATALOG_NAME', out, '-CATALOG_TYPE', 'ASCII',
                    '-PARAMETERS_NAME', params, '-FILTER', 'Y', '-FILTER_NAME', conv, '-DETECT_TYPE', 'CCD',
                    '-DETECT_MINAREA', '5', '-DETECT_THRESH', str(threshold), '-ANALYSIS_THRESH', str(threshold),
                    '-SATUR_LEVEL', '65535', '-SATUR_KEY', 'NONE', '-GAIN_KEY', 'NONE', '-GAIN', '1', '-BACK_SIZE', '64',
                    '-VERBOSE_TYPE', 'QUIET'], check=True, cwd=folder)
    rows = np.loadtxt(out, ndmin=2)
    return [[round(x - 1, 3), round(y - 1, 3), round(s, 1), int(f)] for x, y, s, f in rows]


def with_sep(data):
    background = sep.Background(data, bw=64, bh=64)
    above = data - background.back()
    n = np.arange(-3, 4)
    kernel = np.exp(-0.5 * (n[:, None] ** 2 + n[None, :] ** 2) / (2.5 / 2.3548) ** 2)
    found = sep.extract(above, 5.0, err=background.rms(), filter_kernel=kernel, filter_type='matched', minarea=3)
    radius, _ = sep.flux_radius(above, found['x'], found['y'], np.full(len(found), 6.0), 0.5, normflux=None, subpix=5)
    x, y, _ = sep.winpos(above, found['x'], found['y'], 2 / 2.3548 * radius)
    flux, error, _ = sep.sum_circle(above, found['x'], found['y'], 2.5, err=background.rms(), gain=1.0)
    return [[round(float(a), 3), round(float(b), 3), round(float(s), 1), int(f)]
            for a, b, s, f in zip(x, y, flux / error, found['flag'])]


tables = {'source-extractor': {}, 'sep': {}}
with tempfile.TemporaryDirectory() as folder:
    for frame in frames:
        path = os.path.join(folder, 'frame.fits')
        open(path, 'wb').write(gzip.open(os.path.join(skies, frame + '.fits.gz')).read())
        tables['source-extractor'][frame] = {str(t): source_extractor(path, t, folder) for t in (1.5, 3, 5)}
        tables['sep'][frame] = {'5': with_sep(fits.getdata(path).astype(np.float64))}

version = subprocess.run(['source-extractor', '--version'], capture_output=True, text=True).stdout.strip()
for name, made_by in (('source-extractor', version), ('sep', f'sep {sep.__version__}, astropy {astropy.__version__}, numpy {np.__version__}')):
    lines = [f'{json.dumps(frame)}: ' + json.dumps(rows, separators=(",", ":")) for frame, rows in tables[name].items()]
    with open(os.path.join(here, name + '.json'), 'w') as out:
        out.write('{"madeBy": ' + json.dumps(made_by) + ',\n"columns": ["x", "y", "signalToNoise", "flags"],\n"frames": {\n' + ',\n'.join(lines) + '\n}}\n')
