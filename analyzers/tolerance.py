"""Every epsilon of the project, each once, with its reason.

Lengths are millimetres, angles degrees. A number that decides a *verdict* is not here: those are limits with a
source and live beside their rule.
"""

from typing import Final

SAME_LENGTH_MM: Final = 1e-4
"""Two lengths closer than this are one: STEP writers keep 1e-7 to 1e-5 of model accuracy; shops measure 1e-3."""

SAME_PLACE_MM: Final = 1e-3
"""Two points, axes or planes closer than this coincide: ten times the gap that exporters leave between neighbours."""

SAME_ANGLE_DEG: Final = 0.05
"""Two directions within this are parallel: 0.05 degrees drift 1e-3 mm over 1 mm, still below a machined flank's error."""

SMOOTH_DEG: Final = 1.0
"""An edge whose faces meet within this of 180 degrees is tangent: NURBS exporters keep tangency to about 0.1 degrees."""

ANALYTIC_FIT_MM: Final = 1e-4
"""A free surface that follows a plane, cylinder, cone, sphere or torus this closely is taken to be one."""

FULL_TURN_DEG: Final = 0.5
"""A round face that covers 360 degrees less this is closed."""

MESH_CHORD_RATIO: Final = 1e-3
"""Chord error of the shared triangulation, as a share of the part's diagonal, between the two limits below."""

MESH_CHORD_MIN_MM: Final = 0.002
MESH_CHORD_MAX_MM: Final = 0.1
MESH_ANGLE_RAD: Final = 0.35
"""Angle step of the triangulation, 20 degrees: 18 facets around a hole; exact values come from the B-rep afterwards."""
