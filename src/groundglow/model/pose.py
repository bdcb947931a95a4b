"""Pose: how a camera's place and attitude tie its pixels to the world.

One page for what lives in `rotation` (attitude), `collinearity` (rays, planes) and `terrain` (height
rasters).
"""

from groundglow.model.collinearity import (
    HasPose,
    camera_matrix,
    ground_to_pixel,
    pixel_rays,
    pixel_to_ground,
    pixel_to_plane,
    plane_homography,
)
from groundglow.model.rotation import (
    from_y_up,
    rotation_from_omega_phi_kappa,
    rotation_from_yaw_pitch_roll,
    yaw_pitch_roll_from_rotation,
)
from groundglow.model.terrain import pixel_to_terrain, terrain_normals

__all__ = [
    "HasPose",
    "camera_matrix",
    "from_y_up",
    "ground_to_pixel",
    "pixel_rays",
    "pixel_to_ground",
    "pixel_to_plane",
    "pixel_to_terrain",
    "plane_homography",
    "rotation_from_omega_phi_kappa",
    "rotation_from_yaw_pitch_roll",
    "terrain_normals",
    "yaw_pitch_roll_from_rotation",
]
