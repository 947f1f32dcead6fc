"""Writes the small pictures in this folder with astropy and Pillow, and what these read back from them in expected.json.

Run with Debian's python: /usr/bin/python3 make.py. Written with astropy 5.2.1, Pillow 9.4.0 (python3-astropy, python3-pil).
All pixel and header values are invented.
"""
import json
import math
import os

import numpy as np
from astropy.coordinates import Angle
from astropy.io import fits
from astropy.time import Time
from PIL import Image
from PIL.TiffImagePlugin import IFDRational as Ratio

os.chdir(os.path.dirname(os.path.abspath(__file__)))
WIDTH, HEIGHT = 7, 5  # odd, so that pixel counts divide by no word size
expected = {"fits": {}, "raster": {}, "utc": [], "degrees": []}


def plain(value):
    value = float(value)
    return None if math.isnan(value) else value


def spread(dtype):
    """Values over the whole range of an integer type, its ends among them."""
    info = np.iinfo(dtype)
    steps = np.linspace(0, 1, WIDTH * HEIGHT)
    values = [int(info.min + (int(info.max) - int(info.min)) * float(s)) for s in steps]
    values[0], values[-1], values[1], values[2] = info.min, info.max, max(info.min, -1), 1
    return np.array([min(max(v, info.min), info.max) for v in values], dtype=dtype).reshape(HEIGHT, WIDTH)


def record(name, hdus, index=0, picture=None):
    hdus.writeto(name, overwrite=True, output_verify="exception")
    with fits.open(name) as opened:
        hdu = opened[index]
        header = {k: v for k, v in hdu.header.items()
                  if k not in ("COMMENT", "HISTORY", "") and not isinstance(v, fits.card.Undefined)}
        data = hdu.data if picture is None else picture(hdu.data)
        # Unsigned 64-bit integers go through int: float(numpy.uint64) is exact only by luck of the version.
        values = [plain(int(v)) if data.dtype.kind in "iu" else plain(v) for v in data.ravel()]
        expected["fits"][name] = {"width": data.shape[1], "height": data.shape[0], "data": values, "header": header}


for kind in ("uint8", "int8", "int16", "uint16", "int32", "uint32", "int64", "uint64"):
    record(f"{kind}.fits", fits.PrimaryHDU(spread(kind)))
for kind in ("float32", "float64"):
    data = (np.arange(WIDTH * HEIGHT, dtype=kind) ** 3 / 7 - 500).reshape(HEIGHT, WIDTH)
    data[2, 3] = np.nan
    record(f"{kind}.fits", fits.PrimaryHDU(data))


def scaled(name, stored, **cards):
    hdu = fits.PrimaryHDU(stored)
    for keyword, value in cards.items():
        hdu.header[keyword] = value
    # As bytes: astropy would undo the scaling on writing.
    raw = hdu.header.tostring().encode() + stored.astype(stored.dtype.newbyteorder(">")).tobytes()
    with open(name, "wb") as out:
        out.write(raw + b"\0" * (-len(raw) % 2880))
    # uint=False: else astropy leaves BLANK out of account for unsigned integers, against section 5.3 of the standard.
    with fits.open(name, uint=False) as opened:
        data = opened[0].data
        expected["fits"][name] = {"width": WIDTH, "height": HEIGHT, "data": [plain(v) for v in data.ravel()], "header": cards}


scaled("scaled16.fits", spread("int16"), BSCALE=0.5, BZERO=100.0)
scaled("scaled32.fits", spread("int32"), BSCALE=2.5e-3, BZERO=-7.0)
scaled("blank16.fits", spread("int16"), BLANK=-32768, BZERO=32768)
scaled("blank32.fits", spread("int32"), BLANK=1)

# An empty primary, a table with variable-length rows behind it (PCOUNT of more than a block), and only then the picture.
table = fits.BinTableHDU.from_columns([fits.Column("A", "PJ()", array=np.array([np.arange(1500), np.arange(4)], dtype=object))])
primary = fits.PrimaryHDU()
primary.header["DATE-OBS"] = "2026-11-25T19:30:00"
record("extension.fits", fits.HDUList([primary, table, fits.ImageHDU(spread("uint16"))]), 2)

cube = np.stack([spread("uint16"), spread("uint16")[::-1], np.full((HEIGHT, WIDTH), 300, dtype="uint16")])
record("cube3.fits", fits.PrimaryHDU(cube), picture=lambda d: d.astype(float).mean(axis=0))
record("cube1.fits", fits.PrimaryHDU(spread("int16")[np.newaxis, np.newaxis]), picture=lambda d: d[0, 0])

words = fits.PrimaryHDU(spread("uint8"))
for keyword, value in {
    "OBSERVER": "O'Neil / 'the' roof", "OBJECT": "a/b//c", "EMPTY": "", "QUOTES": "''", "LONG": "it's a long / string and " * 12,
    "AMPER": "ends in &", "YES": True, "NO": False, "WHOLE": -12, "REAL": 1.5e-7, "DATE-OBS": "2026-11-25T19:30:00.125",
}.items():
    # astropy 5.2.1 itself misreads an empty string before a comment with quotes, and a long one full of ampersands.
    words.header[keyword] = (value, {"LONG": "", "EMPTY": "plain"}.get(keyword, "a comment / with 'quotes'"))
record("words.fits", fits.HDUList([words]))


def raster(name, image, **options):
    image.save(name, **options)
    with Image.open(name) as opened:
        array = np.asarray(opened.convert("RGB") if opened.mode in ("P", "RGBA") else opened.convert("L") if opened.mode == "LA" else opened)
    array = array.astype(float).mean(axis=2) if array.ndim == 3 else array
    expected["raster"][name] = {"width": array.shape[1], "height": array.shape[0], "data": [plain(v) for v in array.ravel()]}


ramp8 = np.arange(WIDTH * HEIGHT, dtype="uint8").reshape(HEIGHT, WIDTH) * 7
colour = np.stack([ramp8, 255 - ramp8, np.full_like(ramp8, 9)], axis=2)
alpha = np.dstack([colour, np.where(ramp8 > 99, 0, 200).astype("uint8")])
raster("grey8.png", Image.fromarray(ramp8))
raster("grey16.png", Image.fromarray(spread("uint16").astype("int32"), "I"))
raster("colour8.png", Image.fromarray(colour, "RGB"))
raster("alpha8.png", Image.fromarray(alpha, "RGBA"))
raster("palette.png", Image.fromarray(colour, "RGB").quantize(8))
raster("grey16.tif", Image.fromarray(spread("uint16")))
raster("grey16-big-endian.tif", Image.fromarray(spread("uint16").astype(">u2"), "I;16B"))
raster("float32.tif", Image.fromarray((spread("int16") / 7).astype("float32"), "F"))
raster("colour8.tif", Image.fromarray(colour, "RGB"), compression="tiff_lzw")

# A sideways photograph with everything EXIF says of it.
exif = Image.Exif()
exif[0x0112] = 6  # Orientation
exif[0x8769] = {0x9003: "2026:11:25 20:30:00", 0x9291: "25", 0x9011: "+01:00", 0x829A: Ratio(30), 0x920A: Ratio(50)}
exif[0x8825] = {1: "S", 2: (Ratio(39), Ratio(12), Ratio(30)), 3: "W", 4: (Ratio(3), Ratio(24), Ratio(0)), 5: b"\1", 6: Ratio(12)}
raster("exif.jpg", Image.fromarray(ramp8), quality=100, exif=exif.tobytes())
raster("exif.tif", Image.fromarray(ramp8), exif=exif.tobytes())
# Pillow turns a TIFF by its orientation on reading; as stored it is what was written.
expected["raster"]["exif.tif"] = {"width": WIDTH, "height": HEIGHT, "data": [float(v) for v in ramp8.ravel()]}

for scale in ("tai", "tt", "tdb"):
    for moment in ("1998-12-31T23:59:00", "1999-01-01T00:01:30", "2016-12-31T23:59:59", "2017-01-01T00:05:00", "2026-11-25T19:30:00.5"):
        utc = Time(moment, scale=scale, format="isot").utc
        expected["utc"].append([scale.upper(), moment, utc.isot])

for text in ("39.2", "+39 12 00", "-3:24:00", "-0:30:00", "39d12m30s", "3d24m00sW", "39d12m30.5sN", "-33 51 35.9"):
    expected["degrees"].append([text, Angle(text, unit="deg").deg])

with open("expected.json", "w") as out:
    json.dump(expected, out, separators=(",", ":"))
    out.write("\n")
