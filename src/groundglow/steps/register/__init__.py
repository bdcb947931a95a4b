"""Registering a flight: fixed pattern removed, neighbours tied, levels of frames made to agree.

A runner calls, in this order: `estimate_fine_pattern` once; `describe_frame` per frame; `fit_ground` once where the
log knows no ground; `candidate_pairs` once; `tie_pair` per candidate; `solve` once.
"""

from groundglow.steps.register.description import Description, describe_frame, read_description, write_description
from groundglow.steps.register.expected import log_plane
from groundglow.steps.register.fine import estimate_fine_pattern
from groundglow.steps.register.ground import fit_ground
from groundglow.steps.register.link import Link, read_links, tie_pair, write_links
from groundglow.steps.register.pairs import Candidate, candidate_pairs
from groundglow.steps.register.settings import RegisterSettings
from groundglow.steps.register.solve import Registered, solve

__all__ = [
    "Candidate",
    "Description",
    "Link",
    "RegisterSettings",
    "Registered",
    "candidate_pairs",
    "describe_frame",
    "estimate_fine_pattern",
    "fit_ground",
    "log_plane",
    "read_description",
    "read_links",
    "solve",
    "tie_pair",
    "write_description",
    "write_links",
]
