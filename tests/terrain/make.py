"""Makes what the terrain tests hold the readers against, by other programs' code.

Run by hand, once, in a folder with laspy's sdist unpacked; the results are kept:
  assets/terrain/forms/*        one excerpt of the laser-scanned hillside in GDAL's encodings
  assets/terrain/river-bank.laz an excerpt of laspy's autzen_trim.laz, written by lazrs
  assets/terrain/dense-yard.laz one of its densest sample, 44 ground points a square metre
  tests/terrain/projections.csv coordinates by PROJ
  tests/terrain/triangles.csv   heights between the excerpt's ground points by SciPy
Made with Python 3.11, rasterio 1.4.4 (GDAL 3.10.3), pyproj 3.7.2 (PROJ 9.5.1), laspy 2.7.0,
lazrs 0.8.2, numpy 2.4.6, scipy 1.17.1.
"""

import sys
from pathlib import Path

import laspy
import numpy as np
import pyproj
import rasterio
from rasterio.warp import Resampling, calculate_default_transform, reproject
from rasterio.windows import Window
from scipy.interpolate import LinearNDInterpolator

ROOT = Path(__file__).resolve().parents[2]
FORMS = ROOT / "assets/terrain/forms"


def rasters():
    source = rasterio.open(ROOT / "assets/terrain/lidar-hillside.tif")
    window = Window(62, 82, 40, 36)  # about the stump of scenes/lidar-slope.ron
    h = source.read(1, window=window)
    place = source.window_transform(window)
    base = dict(driver="GTiff", width=40, height=36, count=1, dtype="float32",
                crs="EPSG:26915", transform=place)

    def write(name, data=h, **more):
        about = {**base, **more}
        with rasterio.open(FORMS / f"{name}.tif", "w", **about) as out:
            out.write(data.astype(about["dtype"]), 1)

    whole = np.round(h)
    write("plain")
    write("bigtiff", BIGTIFF="YES")
    write("big-endian", ENDIANNESS="BIG")
    write("tiled", tiled=True, blockxsize=16, blockysize=16)
    for packing in ["lzw", "deflate", "zstd"]:
        write(packing, compress=packing)
        write(f"{packing}-predictor3", compress=packing, predictor=3)
    write("packbits", compress="packbits")
    write("lerc", compress="lerc", MAX_Z_ERROR=0.001)
    write("lerc-zstd", compress="lerc_zstd", MAX_Z_ERROR=0)
    write("lerc-deflate", compress="lerc_deflate", MAX_Z_ERROR=0)
    write("float64", dtype="float64")
    write("whole-int16", dtype="int16", data=whole)
    write("whole-int32-lzw-predictor2", dtype="int32", data=whole, compress="lzw", predictor=2)
    write("whole-uint16-tiled-zstd-predictor2", dtype="uint16", data=whole, compress="zstd",
          predictor=2, tiled=True, blockxsize=16, blockysize=16)
    holes = (np.add.outer(np.arange(36), np.arange(40)) % 17) == 0
    write("holes", data=np.where(holes, -9999, h), nodata=-9999, compress="deflate")
    write("scaled", dtype="int16", data=whole - 300)
    with rasterio.open(FORMS / "scaled.tif", "r+") as out:
        out.scales, out.offsets = (1.0,), (300.0,)
    with rasterio.open(FORMS / "cog.tif", "w", **{**base, "driver": "COG", "compress": "deflate"}) as out:
        out.write(h, 1)

    def warped(name, crs, scale):
        bounds = rasterio.transform.array_bounds(36, 40, place)
        to, width, height = calculate_default_transform("EPSG:26915", crs, 40, 36, *bounds)
        data = np.full((height, width), -9999, dtype="float32")
        reproject(h, data, src_transform=place, src_crs="EPSG:26915", dst_transform=to, dst_crs=crs,
                  resampling=Resampling.bilinear, dst_nodata=-9999)
        data = np.where(data == -9999, data, data * scale)
        write(name, data=data, crs=crs, transform=to, width=width, height=height, nodata=-9999,
              compress="deflate")

    warped("degrees", "EPSG:4269", 1.0)
    warped("mercator", "EPSG:3857", 1.0)
    warped("survey-feet", "EPSG:26849", 3937 / 1200)  # NAD83 / Minnesota North (ftUS)
    rows = ["ncols 40", "nrows 36", f"xllcorner {place.c}", f"yllcorner {place.f - 36}",
            "cellsize 1", "NODATA_value -9999"]
    rows += [" ".join(f"{v:.4f}" for v in row) for row in h]
    (FORMS / "ascii.asc").write_text("\n".join(rows) + "\n")
    (FORMS / "ascii.prj").write_text(pyproj.CRS("EPSG:26915").to_wkt("WKT1_ESRI") + "\n")


def cloud(sdist):
    cloud = laspy.read(sdist / "tests/data/autzen_trim.laz")
    middle = (636585.0, 849220.0)  # feet, on the rim of the bank
    keep = (abs(cloud.x - middle[0]) < 130) & (abs(cloud.y - middle[1]) < 130)
    part = laspy.LasData(cloud.header)
    part.points = cloud.points[keep]
    part.write(ROOT / "assets/terrain/river-bank.laz")
    part = laspy.read(ROOT / "assets/terrain/river-bank.laz")
    ground = part.classification == 2
    to = pyproj.Transformer.from_crs("EPSG:2994", pyproj.CRS("EPSG:2994").geodetic_crs,
                                     always_xy=True)
    utm = pyproj.Proj("EPSG:32610")
    x, y = utm(*to.transform(part.x[ground], part.y[ground]))
    z = np.asarray(part.z[ground]) * 0.3048
    middle = utm(*to.transform(*middle))
    places = np.array([(middle[0] + i, middle[1] + j) for i in range(-24, 25, 4)
                       for j in range(-24, 25, 4)])
    heights = LinearNDInterpolator(np.column_stack([x, y]), z)(places)
    text = f"# place {middle[0]:.3f} {middle[1]:.3f}, {ground.sum()} ground points\nx_m,y_m,height_m\n"
    text += "".join(f"{a:.3f},{b:.3f},{h:.4f}\n" for (a, b), h in zip(places, heights)
                    if np.isfinite(h))
    (ROOT / "tests/terrain/triangles.csv").write_text(text)
    print(len(part.points), "points;", ground.sum(), "ground; middle", middle,
          to.transform(636585.0, 849220.0))


def yard(sdist):
    cloud = laspy.read(sdist / "tests/data/file_with_both_wkt_and_geotiff_vlrs.las")
    part = laspy.LasData(cloud.header)
    part.points = cloud.points[np.asarray(cloud.x) < 2445210]
    part.write(ROOT / "assets/terrain/dense-yard.laz")
    # Peak to trough over a plane in windows of 0.8 m: 2.5 cm in the typical one, 2.1 and 3.1 cm at
    # the quarters, wherever the windows begin (val_the_roughness_of_a_dense_cloud_is_that_of_numpy).
    ground = np.asarray(part.classification) == 2
    x, y, z = (np.asarray(a)[ground] * 1200 / 3937 for a in (part.x, part.y, part.z))
    for begin in (0, 0.3, 0.55):
        i, j = (np.floor((a - a.min() + begin) / 0.8).astype(int) for a in (x, y))
        spread = []
        for window in np.unique(i * 1000 + j):
            own = i * 1000 + j == window
            if own.sum() >= 8:
                sides = np.column_stack([x[own] - x[own].mean(), y[own] - y[own].mean(),
                                         np.ones(own.sum())])
                plane = np.linalg.lstsq(sides, z[own], rcond=None)[0]
                spread.append(np.sqrt(((z[own] - sides @ plane) ** 2).sum() / (own.sum() - 3)))
        print(len(spread), 2 * np.sqrt(2) * np.percentile(spread, [25, 50, 75]))


def projections():
    places = {
        2994: (-123.07, 44.05), 2992: (-121.3, 43.2), 2225: (-122.5, 40.9), 26915: (-93.92, 46.5),
        26849: (-93.92, 46.9), 32104: (-97.06, 41.45), 32610: (-123.07, 44.05), 32733: (18.4, -33.9),
        25832: (8.5, 47.4), 25833: (13.4, 52.5), 3006: (17.6, 59.8), 3067: (24.9, 60.2),
        2154: (5.7, 45.2), 2180: (19.9, 50.1), 2193: (170.5, -43.5), 3035: (10.0, 47.0),
        5070: (-84.0, 35.6), 3857: (-93.9, 46.5), 7850: (116.0, -32.0), 6690: (138.5, 36.2),
        27700: (-3.2, 54.5), 28992: (5.9, 51.0), 31370: (5.0, 50.3), 21781: (8.5, 46.6),
        2056: (8.5, 46.6),
    }
    text = "# pyproj 3.7.2, PROJ 9.5.1; longitude and latitude in the system's own datum, and on WGS 84\n"
    text += "epsg,x,y,own_longitude,own_latitude,longitude,latitude\n"
    for code, (lon, lat) in places.items():
        crs = pyproj.CRS(code)
        own = pyproj.Transformer.from_crs(crs, crs.geodetic_crs, always_xy=True)
        x, y = own.transform(lon, lat, direction="INVERSE")
        world = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
        a, b = world.transform(x, y)
        text += f"{code},{x:.6f},{y:.6f},{lon},{lat},{a:.9f},{b:.9f}\n"
    (ROOT / "tests/terrain/projections.csv").write_text(text)


FORMS.mkdir(parents=True, exist_ok=True)
rasters()
cloud(Path(sys.argv[1]))
yard(Path(sys.argv[1]))
projections()
