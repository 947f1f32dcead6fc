"""Writes the small compressed pictures in this folder with astropy (which compresses tiles by cfitsio), and what it reads back from
them in expected.json.

Run with Debian's python: /usr/bin/python3 make.py. Written with astropy 5.2.1 (python3-astropy).
All pixel and header values are invented.
"""
import gzip
import json
import os
import warnings

import numpy as np
from astropy.io import fits

os.chdir(os.path.dirname(os.path.abspath(__file__)))
warnings.simplefilter("ignore")
WIDTH, HEIGHT = 45, 22
random = np.random.default_rng(20261125)
sky = 1000 + 12 * random.standard_normal((HEIGHT, WIDTH))
sky[10, 20] += 20000
sky[11, 20] += 30000
expected = {}


def plain(value):
    value = float(value)
    return value if np.isfinite(value) else None


def record(name, columns=None):
    """What astropy reads; `columns` are those that must be filled, so that the file tests what it is meant to."""
    with fits.open(name) as opened:
        hdu = next(h for h in opened if h.data is not None)
        data = hdu.data
        data = data.astype(float).mean(axis=0) if data.ndim == 3 else data
        expected[name] = {"width": data.shape[1], "height": data.shape[0], "data": [plain(v) for v in data.ravel()]}
    with fits.open(name, disable_image_compression=True) as opened:
        table = opened[1]
        found = {c: int(np.count_nonzero(table.data.field(c)[:, 0] if table.data.field(c).ndim > 1 else [len(x) for x in table.data.field(c)]))
                 for c in table.columns.names if c.endswith("_DATA")}
        expected[name]["tiles"] = found
        expected[name]["said"] = {k: table.header[k] for k in ("ZCMPTYPE", "ZBITPIX", "ZQUANTIZ", "ZDITHER0", "ZBLANK", "ZSCALE") if k in table.header}
    for column in columns or []:
        assert found.get(column), (name, found)


def packed(name, data, columns=("COMPRESSED_DATA",), cards=None, **options):
    hdu = fits.CompImageHDU(data, **options)
    for keyword, value in (cards or {}).items():
        hdu.header[keyword] = value
    fits.HDUList([fits.PrimaryHDU(), hdu]).writeto(name, overwrite=True)
    record(name, columns)


steep = np.clip(sky, 0, 60000)
integers = {
    "uint8": np.clip(sky / 5, 0, 255).astype("uint8"),
    "int16": (sky - 1500).clip(-32768, 32767).astype("int16"),
    "uint16": steep.astype("uint16"),
    "int32": (sky * 1000 - 1e6).astype("int32"),
    "uint32": (sky * 1000 + 2**31).astype("uint32"),
}
for kind, data in integers.items():
    for method in ("RICE_1", "GZIP_1", "GZIP_2"):
        packed(f"{kind}-{method.lower()}.fits.fz", data, compression_type=method)
packed("uint16-squares.fits.fz", integers["uint16"], compression_type="RICE_1", tile_size=(16, 8))
packed("uint16-whole-gzip.fits.fz", integers["uint16"], compression_type="GZIP_2", tile_size=(WIDTH, HEIGHT))
packed("int16-noise.fits.fz", random.integers(-32768, 32768, (HEIGHT, WIDTH)).astype("int16"), compression_type="RICE_1")
packed("int32-noise.fits.fz", random.integers(-2**31, 2**31, (HEIGHT, WIDTH)).astype("int32"), compression_type="RICE_1")
packed("uint8-noise.fits.fz", random.integers(0, 256, (HEIGHT, WIDTH)).astype("uint8"), compression_type="RICE_1")
packed("int16-constant.fits.fz", np.full((HEIGHT, WIDTH), 7, dtype="int16"), compression_type="RICE_1")
packed("scaled16.fits.fz", integers["int16"], compression_type="RICE_1", cards={"BSCALE": 0.5, "BZERO": 100.0})
packed("cube3.fits.fz", np.stack([integers["uint16"], integers["uint16"][::-1], np.full_like(integers["uint16"], 300)]), compression_type="RICE_1")
packed("mosaic.fits.fz", integers["uint16"], compression_type="RICE_1", cards={"BAYERPAT": "GRBG"})

DITHERS = {"no-dither": -1, "dither-1": 1, "dither-2": 2}
for kind in ("float32", "float64"):
    data = sky.astype(kind)
    data[3, 5] = np.nan
    data[4] = 0
    data[5, 7:20] = 0
    for method in ("RICE_1", "GZIP_1", "GZIP_2"):
        for dither, number in DITHERS.items():
            packed(f"{kind}-{method.lower()}-{dither}.fits.fz", data, compression_type=method, quantize_method=number, dither_seed=9998)
        if method != "RICE_1":
            packed(f"{kind}-{method.lower()}-exact.fits.fz", data, compression_type=method, quantize_level=0)
# Larger than a round of the random numbers, which then go on from the next seed.
long = (1000 + 12 * random.standard_normal((75, 150))).astype("float32")
packed("float32-long.fits.fz", long, compression_type="RICE_1", quantize_method=1, dither_seed=1, tile_size=(150, 75))
# Rows that no step of quantisation serves.
wild = sky.astype("float32")
wild[2] = np.where(np.arange(WIDTH) % 2, 1e30, 1e-30)
wild[9] = np.arange(WIDTH) * 1e20
packed("float32-fallback.fits.fz", wild, ("COMPRESSED_DATA", "GZIP_COMPRESSED_DATA"), compression_type="RICE_1", quantize_method=1, dither_seed=5)

for method in ("PLIO_1", "HCOMPRESS_1"):
    fits.HDUList([fits.PrimaryHDU(), fits.CompImageHDU(integers["int16"].clip(0, 4000), compression_type=method)]).writeto(
        f"{method.lower()}.fits.fz", overwrite=True)

hdu = fits.PrimaryHDU(integers["uint16"])
hdu.header["DATE-OBS"] = "2026-11-25T19:30:00"
hdu.writeto("plain.fits", overwrite=True)
with open("plain.fits", "rb") as read:
    whole = read.read()
os.remove("plain.fits")
for name in ("uint16.fits.gz", "gzip-named-fits.fits"):
    with open(name, "wb") as out:
        out.write(gzip.compress(whole, mtime=0))
    with fits.open(name) as opened:
        expected[name] = {"width": WIDTH, "height": HEIGHT, "data": [plain(v) for v in opened[0].data.ravel()]}
# Two members, as `cat` of two gzip files makes.
with open("two-members.fits.gz", "wb") as out:
    out.write(gzip.compress(whole[:3000], mtime=0) + gzip.compress(whole[3000:], mtime=0))
expected["two-members.fits.gz"] = expected["uint16.fits.gz"]
# A compressed picture in a gzip file.
with open("int16-rice_1.fits.fz", "rb") as read, open("packed-twice.fits.gz", "wb") as out:
    out.write(gzip.compress(read.read(), mtime=0))
expected["packed-twice.fits.gz"] = expected["int16-rice_1.fits.fz"]

fits.HDUList([
    fits.PrimaryHDU(np.full((5, 7), 1, dtype="int16")),
    fits.BinTableHDU.from_columns([fits.Column("A", "J", array=np.arange(10))]),
    fits.ImageHDU(integers["uint16"], name="SCI"),
    fits.ImageHDU(np.zeros((HEIGHT, WIDTH), dtype="uint8"), name="MASK"),
]).writeto("several.fits", overwrite=True)
expected["several.fits"] = {"width": WIDTH, "height": HEIGHT, "data": [plain(v) for v in integers["uint16"].ravel()]}

with open("expected.json", "w") as out:
    json.dump(expected, out, separators=(",", ":"))
    out.write("\n")
for name, entry in expected.items():
    print(name, os.path.getsize(name), entry.get("tiles"), entry.get("said"))
