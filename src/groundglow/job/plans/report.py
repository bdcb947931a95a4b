"""What do we tell them? One item: the report, the table and the map layers."""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Iterator, Mapping
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from groundglow import __version__
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.frames.vectors import Feature, Layer, write_csv, write_geojson, write_geopackage
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import brief_of, conditions_of, local_zones, log_of, outline_files, registration_of
from groundglow.job.ledger import Ledger
from groundglow.job.plans.check import log_path
from groundglow.job.plans.find import findings_path
from groundglow.job.plans.measure import field_path, measured_frames, method_path
from groundglow.job.plans.pictures import finding_picture
from groundglow.job.plans.register import registration_path
from groundglow.job.reporting import options_of, report_file
from groundglow.job.review import review_file, standings_of
from groundglow.job.runner import Item
from groundglow.records.finding import Finding, Findings
from groundglow.records.visit import Conditions
from groundglow.steps.report import COLUMNS, ReportInputs, chosen, contents, finding_rows, site_map, typeset

__all__ = ["plan_report"]

#: Libraries whose version can change an output.
LIBRARIES = ("numpy", "scipy", "numba", "opencv-python-headless", "rasterio", "typst")


def plan_report(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """One item, from everything."""
    flights = job.flights()
    logs = tuple(log_path(job, f) for f in flights)
    out = job.out / "report"
    yield [
        Item(
            "report",
            "report",
            write_report,
            {"root": job.root, "audit": _audit(job, ledger)},
            inputs=(
                findings_path(job),
                job.brief,
                *outline_files(job),
                *logs,
                *(p.with_name("coverage.json") for p in logs),
                *(registration_path(job, f) for f in flights),
                *(method_path(job, f) for f in flights),
                *_conditions_files(flights),
                *(p for p in (review_file(job), report_file(job)) if p.is_file()),
                *(field_path(job, f, frame) for f in flights for frame in measured_frames(job, f)),
            ),
            outputs=tuple(out / name for name in ("report.pdf", "findings.csv", "findings.gpkg", "findings.geojson")),
        )
    ]


def _conditions_files(flights: tuple[FlightFolder, ...]) -> tuple[Path, ...]:
    named = {f.visit_path / "conditions.csv" for f in flights}
    return tuple(sorted(p for p in named if p.is_file()))


def _audit(job: JobFolder, ledger: Ledger) -> list[tuple[str, str]]:
    """What the report was made from: versions, then digests of the files as given."""
    rows = [("Groundglow", __version__), ("Python", platform.python_version())]
    rows += [(name, version(name)) for name in LIBRARIES]
    recorded = {name: digest for e in ledger.entries("check") for name, digest in e.inputs.items()}
    given = {n: d for n, d in recorded.items() if not n.startswith("out/")}
    given |= {job.relative(p): ledger.digest(p) for p in _conditions_files(job.flights())}
    frames = {n: d for n, d in given.items() if "/frames/" in n}
    rows += [(n, d[:16]) for n, d in sorted(given.items()) if n not in frames]
    for flight in job.flights():
        own = sorted((n, d) for n, d in frames.items() if f"/{flight.visit}/flights/{flight.name}/" in f"/{n}")
        total = hashlib.sha256(json.dumps(own).encode()).hexdigest()
        rows.append((f"{flight.key}: {len(own)} frame files, digest of all digests", total[:16]))
    return rows


def write_report(pdf: Path, table: Path, layers: Path, features: Path, *, root: Path, audit: list[Any]) -> None:
    """Write the PDF, the CSV table, the GeoPackage and the GeoJSON of a job."""
    job = JobFolder(root)
    inputs = _inputs(job, audit)
    pictures = dict(_pictures(job, inputs))
    data = contents(inputs)
    pdf.write_bytes(typeset({**data, "pictures": sorted(pictures)}, pictures))
    rows = finding_rows(inputs.findings.items, inputs.reviews)
    write_csv(table, rows, columns=COLUMNS)
    told = {f.id for f in _told(inputs)}
    points = tuple(Feature(_point(row), row) for row in rows if row["finding"] in told)
    write_geopackage(layers, (Layer("findings", points),))
    write_geojson(features, points)


def _told(inputs: ReportInputs) -> tuple[Finding, ...]:
    """Findings that the report tells of."""
    return chosen(inputs.findings, inputs.reviews, inputs.options)[0].found


def _point(row: Mapping[str, Any]) -> dict[str, Any] | None:
    if row["lon_deg"] is None:
        return None
    return {"type": "Point", "coordinates": [row["lon_deg"], row["lat_deg"]]}


def _inputs(job: JobFolder, audit: list[Any]) -> ReportInputs:
    flights = job.flights()
    logs = tuple(log_of(log_path(job, f)) for f in flights)
    return ReportInputs(
        brief=brief_of(job),
        logs=logs,
        registrations=tuple(registration_of(registration_path(job, f)) for f in flights),
        findings=Findings.from_json(findings_path(job).read_text()),
        coverage=[c for f in flights for c in _read_json(log_path(job, f).with_name("coverage.json"))],
        methods={f.key: _read_json(method_path(job, f)) for f in flights},
        conditions={f.visit: condition_lines(conditions_of(f.visit_path)) for f in flights},
        audit=[(str(a), str(b)) for a, b in audit],
        version=__version__,
        reviews=standings_of(job),
        options=options_of(job),
    )


def _read_json(path: Path) -> Any:
    return json.loads(path.read_text())


SHOWN_CONDITIONS = (
    ("air_temperature", "Air temperature", "°C", 1.0, -ZERO_CELSIUS),
    ("relative_humidity", "Relative humidity", "%", 100.0, 0.0),
    ("pressure", "Pressure", "hPa", 0.01, 0.0),
    ("wind_speed", "Wind", "m/s", 1.0, 0.0),
    ("irradiance", "Irradiance", "W/m²", 1.0, 0.0),
    ("cloud_fraction", "Cloud", "%", 100.0, 0.0),
    ("load_fraction", "Load", "% of normal", 100.0, 0.0),
)


def condition_lines(conditions: Conditions) -> list[str]:
    """Range of each recorded condition in words, in the units that people read."""
    said = []
    for name, title, unit, scale, offset in SHOWN_CONDITIONS:
        series = conditions.values.get(name, np.zeros(0))
        known = series[np.isfinite(series)] * scale + offset
        if known.size:
            low, high = f"{known.min():.1f}", f"{known.max():.1f}"
            said.append(f"{title}: {low} {unit}" if low == high else f"{title}: {low} to {high} {unit}")
    return [*said, *conditions.notes]


def _pictures(job: JobFolder, inputs: ReportInputs) -> Iterator[tuple[str, bytes]]:
    origin = next((log.origin for log in inputs.logs if log.origin), None)
    found, options = _told(inputs), inputs.options
    drawn = site_map(inputs.logs, found, local_zones(job, origin)) if options.map else None
    if drawn:
        yield "site-map.svg", drawn.encode()
    for finding in found if options.pictures else ():
        path, draw = finding_picture(job, finding, options.temperature)
        if path.is_file():
            yield f"finding-{finding.number}.png", draw()
