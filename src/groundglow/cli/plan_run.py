"""What ``groundglow plan`` does and shows."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from groundglow.cli.show import ProgressWatcher, bullets, console, plain_table
from groundglow.errors import FileError, InputError
from groundglow.job.chain import run_steps
from groundglow.job.folder import open_job
from groundglow.job.plan import own_rules, plan_ask
from groundglow.job.plans.plan import CARD, OUTPUTS, write_card, write_files
from groundglow.kit.fleet import fleet_with
from groundglow.records.brief import Brief
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.plain import plain_plan, storage_text

__all__ = ["run_plan"]

Given = Mapping[str, Any]
SAME = ("camera", "lens", "aircraft", "sampling", "height", "ground_height", "terrain", "take_off", "wind",
        "flown_at", "sweep_width", "probability", "face_height", "hold")  # fmt: skip
RENAMED = {"forward": "forward_overlap", "side": "side_overlap", "heading": "heading_deg",
           "wind_from": "wind_from_deg", "face_tilt": "face_tilt_deg"}  # fmt: skip


def run_plan(given: Given) -> int:
    """Run the step of a job, or plan over a GeoJSON file; show or print it."""
    path: Path = given["path"]
    plans = _of_job(given, path) if path.is_dir() else [_of_site(given, path)]
    if given["as_json"]:
        console().print_json(json.dumps({"plans": plans}, allow_nan=False))
    elif not given["quiet"]:
        for plan in plans:
            _show(plan)
    return 0 if all(plan["met"] for plan in plans) else 1


def _of_job(given: Given, path: Path) -> list[dict[str, Any]]:
    said = [name for name in SAME if given[name] is not None]
    if said or any(given[name] is not None for name in ("out", "kit", "rules")):
        raise InputError(
            "A job has its questions in [[plan]], its kit in kit.toml, its rules in rules/; leave the options out."
        )
    job = open_job(path)
    with ProgressWatcher(given["quiet"] or given["as_json"]) as watcher:
        run_steps(job, "plan", watcher=watcher)
    files = sorted((job.out / "plan").glob("plan-*.json"))
    if not files:
        raise InputError(f"{job.brief} asks nothing of plan: add a [[plan]] block with over, sampling and camera.")
    return [json.loads(file.read_text("utf-8")) for file in files]


def _of_site(given: Given, path: Path) -> dict[str, Any]:
    if not path.is_file():
        raise FileError(path, "there is no such file or job", "Name a job's folder, or a GeoJSON of what to fly.")
    raw = {name: given[name] for name in SAME if given[name] is not None}
    raw |= {field: given[name] for name, field in RENAMED.items() if given[name] is not None}
    if given["terrain"] is not None:
        raw["terrain"] = str(Path(given["terrain"]).resolve())
    raw |= {"name": path.stem, "over": path.name}
    asked = {"title": path.stem, "site": {"name": path.stem}, "limits": {"highest_m": given["highest"]}, "plan": [raw]}
    own_rules(given["rules"])
    ask = plan_ask(path.parent, Brief.parse(asked, "plan"), 0, fleet_with(given["kit"]), given["rules"])
    plan = plan_of(ask)
    out: Path | None = given["out"]
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        write_files(plan, tuple(out / name.format(1) for name in OUTPUTS))
        write_card(plan, ask, None, tuple(out / name.format(1) for name in CARD))
    return plain_plan(plan)


def _show(plan: Mapping[str, Any]) -> None:
    screen = console()
    screen.print(f"{plan['name']}: {plan['flies']}", style="bold")
    for line in _lines(plan):
        screen.print(line)
    table = plain_table(("sortie", "right"), ("day", "right"), ("take-off", "left"), ("aircraft", "left"),
                        ("lines", "right"), ("min", "right"), ("of", "right"), ("frames", "right"))  # fmt: skip
    for s in plan["sorties"]:
        table.add_row(str(s["sortie"]), str(s["day"]), s["take_off"], s["aircraft"], str(len(s["lines"])),
                      f"{s['duration_s'] / 60:.1f}", f"{s['available_s'] / 60:.1f}", str(s["frames"]))  # fmt: skip
    screen.print(table)
    _segments(plan["segments"])
    for reason in plan["unmet"]:
        screen.print(f"Not met: {reason}", style="red")
    bullets(screen, "Notes", plan["notes"])
    bullets(screen, "Mind", plan["cautions"])


def _moving(plan: Mapping[str, Any]) -> str:
    hold = plan["settings"]["hold_s"]
    return f"stopping {hold:g} s at each frame" if hold else f"{plan['smear_px']:.2f} px of lag"


def _lines(plan: Mapping[str, Any]) -> list[str]:
    proof = plan["proof"]
    said = [
        f"kit: {plan['kit']}",
        f"height {plan['height_m']:.1f} m, {100 * plan['sampling_m']:.1f} cm a pixel; "
        f"speed {plan['speed_m_s']:.1f} m/s, {_moving(plan)}",
        f"heading {plan['heading_deg']:.0f} degrees, lines {plan['spacing_m']:.1f} m apart, a frame every "
        f"{plan['base_m']:.1f} m or {plan['interval_s']:.1f} s",
        f"{len(plan['lines'])} line{'s' * (len(plan['lines']) != 1)}, {plan['length_m'] / 1000:.1f} km, "
        f"{plan['frames']} frames, {storage_text(plan['storage_bytes'])}, {plan['seconds'] / 60:.0f} min in the air",
    ]
    if proof:
        seen = ", ".join(f"{100 * share:.1f} % by {n}" for n, share in proof["seen"].items())
        low, high = proof["above_ground_m"]
        heights = f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"
        said.append(f"seen: {seen} or more frames")
        said.append(f"flown {heights} m above ground; ground sampling up to {100 * proof['sampling_m']['most']:.1f} cm")
    return said


def _segments(segments: Sequence[Mapping[str, Any]]) -> None:
    if not segments:
        return
    table = plain_table(("segment", "left"), ("ha", "right"), ("coverage", "right"), ("detection %", "right"),
                        ("remains %", "right"))  # fmt: skip
    for s in segments:
        table.add_row(s["name"], f"{s['area'] / 1e4:.1f}", f"{s['coverage']:.2f}", f"{100 * s['detection']:.0f}",
                      f"{100 * s['remains']:.0f}")  # fmt: skip
    console().print(table)
