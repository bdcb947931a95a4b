"""Thin the open library of urban spectra to what simulated truths need: tools/data/urban_emissivity.csv.

    python tools/make_interval_spectra.py PATH/urban_materials_8_14um.csv

Origin: Spectral Library of impervious Urban Materials (Kotthaus et al. 2014), DOI 10.5281/zenodo.4263842, CC0. Kept
are the samples with a mean emissivity above 0.85 (Planck weight at 300 K): all but three of metal.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from groundglow.model.planck import spectral_radiance

OUT = Path(__file__).parent / "data" / "urban_emissivity.csv"
#: Wavelengths kept, um; the samples vary slowly between.
KEPT = np.arange(8.0, 14.01, 0.2)
LEAST_EMISSIVITY = 0.85


def main(path: str) -> None:
    """Write the thinned table: one row a wavelength, one column a sample."""
    with open(path, encoding="utf-8") as file:
        names = file.readline().replace('"', "").strip().split(",")[1:]
    rows = np.loadtxt(path, delimiter=",", skiprows=1)
    weight = spectral_radiance(rows[:, 0] * 1e-6, 300.0)
    dull = np.flatnonzero(weight @ rows[:, 1:] / weight.sum() > LEAST_EMISSIVITY)
    table = np.column_stack([KEPT, *(np.interp(KEPT, rows[:, 0], rows[:, 1 + i]) for i in dull)])
    head = ",".join(["wavelength_um", *(names[i] for i in dull)])
    OUT.parent.mkdir(exist_ok=True)
    np.savetxt(OUT, table, fmt=["%.1f"] + ["%.3f"] * dull.size, delimiter=",", header=head, comments="")


if __name__ == "__main__":
    main(sys.argv[1])
