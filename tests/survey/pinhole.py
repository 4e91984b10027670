"""A pinhole camera over a plane, built from scipy's rotations: truth for the placement tests."""

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

WIDTH_PX, HEIGHT_PX = 3000, 2000


@dataclass(frozen=True)
class Pinhole:
    """A camera at x, y, height over the plane, looking down, then tilted and turned."""

    x_m: float = 0.0
    y_m: float = 0.0
    height_m: float = 2.0
    tilt_deg: float = 0.0
    tilt_toward_deg: float = 0.0
    turn_deg: float = 0.0
    focal_px: float = 3000.0

    @property
    def plane_to_px(self):
        """K·[r₁ r₂ t], the plane's homography into the picture (3, 3)."""
        # Untilted: u along +x, v along −y, the optical axis along −w.
        level = np.diag([1.0, -1.0, -1.0])
        turn = Rotation.from_euler("z", self.turn_deg, degrees=True).as_matrix()
        axis = np.radians(self.tilt_toward_deg)
        tilt = Rotation.from_rotvec(
            np.radians(self.tilt_deg) * np.array([np.cos(axis), np.sin(axis), 0.0])
        ).as_matrix()
        rotation = tilt @ level @ turn.T
        centre = np.array([self.x_m, self.y_m, self.height_m])
        pose = np.column_stack([rotation[:, :2], -rotation @ centre])
        inner = np.array(
            [
                [self.focal_px, 0.0, (WIDTH_PX - 1) / 2],
                [0.0, self.focal_px, (HEIGHT_PX - 1) / 2],
                [0.0, 0.0, 1.0],
            ]
        )
        return inner @ pose

    def picture(self, plane):
        """Picture points (n, 2) of plane points (n, 2)."""
        mapped = np.column_stack([plane, np.ones(len(plane))]) @ self.plane_to_px.T
        assert (mapped[:, 2] > 0).all()
        return mapped[:, :2] / mapped[:, 2:]

    @property
    def px_to_plane(self):
        return np.linalg.inv(self.plane_to_px)


cameras = st.builds(
    Pinhole,
    x_m=st.floats(-20.0, 20.0),
    y_m=st.floats(-20.0, 20.0),
    height_m=st.floats(0.8, 4.0),
    tilt_deg=st.floats(0.0, 25.0),
    tilt_toward_deg=st.floats(0.0, 360.0),
    turn_deg=st.floats(0.0, 360.0),
)
