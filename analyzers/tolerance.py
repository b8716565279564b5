"""Every epsilon of the project, each once, with its reason.

Lengths are millimetres, angles degrees. A number that decides a *verdict* is not here: those are limits with a
source and live beside their rule.
"""

import math
from typing import Final

SAME_LENGTH_MM: Final = 1e-4
"""Two lengths closer than this are one: STEP writers keep 1e-7 to 1e-5 of model accuracy; shops measure 1e-3."""

SAME_PLACE_MM: Final = 1e-3
"""Two points, axes or planes closer than this coincide: ten times the gap that exporters leave between neighbours."""

LARGEST_MM: Final = 1e9
"""Beyond a thousand kilometres nothing is a coordinate of a part: its squares leave no digit for SAME_PLACE_MM."""

SAME_ANGLE_DEG: Final = 0.05
"""Two directions within this are parallel: 0.05 degrees drift 1e-3 mm over 1 mm, below a machined flank's error."""

PARALLEL_COS: Final = math.cos(math.radians(SAME_ANGLE_DEG))
SQUARE_SIN: Final = math.sin(math.radians(SAME_ANGLE_DEG))
"""The same limit for unit vectors: parallel where |a . b| is above the first, square where it is below the second."""

SMOOTH_DEG: Final = 1.0
"""An edge whose faces meet within this of 180 degrees is tangent: NURBS exporters keep it to about 0.1 degrees."""

ANALYTIC_FIT_MM: Final = 1e-4
"""A free surface that follows a plane, cylinder, cone, sphere or torus this closely is taken to be one."""

MASS_ERROR: Final = 1e-5
"""Share by which areas and volumes may be off on elementary surfaces written as splines; 3e-6 was measured."""

ANALYTIC_START_MM: Final = 0.005
"""A first guess that misses the samples by more is not worth settling: a surface 1e-4 mm off missed by 1e-3."""

FULL_TURN_DEG: Final = 0.5
"""A round face that covers 360 degrees less this is closed."""

MESH_CHORD_RATIO: Final = 1e-3
"""Chord error of the shared triangulation, as a share of the part's diagonal, between the two limits below."""

MESH_CHORD_MIN_MM: Final = 0.002
MESH_CHORD_MAX_MM: Final = 0.1
MESH_ANGLE_RAD: Final = 0.35
"""Angle step of the triangulation, 20 degrees: 18 facets around a hole; exact values come from the B-rep afterwards."""

WELD_STEPS: Final = 2**20
"""Points of the triangulation in one cell of a lattice of so many steps along the body are one place: a millionth of
its length, well above rounding and below what two faces' borders may be apart."""

SIGHT_START_RATIO: Final = 2e-5
SIGHT_ASIDE_RATIO: Final = 1e-5
"""A drawn line is looked at this share of the part's diagonal before it, and this share aside: hundreds of times the
rounding of single precision, a fiftieth of a pixel."""

EDGE_ON_SIN: Final = 1e-6
"""A triangle that is turned to the eye by less is seen edge-on: rounding turns flanks of a part that lies square."""

LIMIT_SLACK: Final = 1e-5
"""A number breaks a limit only when it passes it by more than this share: model accuracy of 1e-5 to 1e-7 on lengths
around 1 mm would else decide whether a wall of exactly the limit is reported."""

# --- walls and gaps: where to look, and what is an edge rather than a wall ---

SAMPLES_PER_FACE: Final = 40
SAMPLES_SMALL_FACE: Final = 16
SAMPLES_MOST: Final = 16_000
"""Sight lines for walls and gaps: about 40 for each face, by area, no face without 16; 16,000 rays cost some 50 ms."""

CORNER_INSET_RATIO: Final = 0.02
CORNER_SAMPLES_MOST: Final = 8000
"""Further samples 2 % inside the corners of flat triangles, for faces that overlap by a sliver; about 1 us each."""

FACING_NEIGHBOURS: Final = 8
"""Nearest round faces that each round face looks at besides: in a grid of holes these are all that touch its web."""

FACING_FLATS: Final = 6
"""Nearest flat faces along its axis that each round face looks at besides: four sides, and two of a nearer recess."""

RIDGE_POINTS_LINE: Final = 3
RIDGE_POINTS_ROUND: Final = 8
RIDGE_DIRECTIONS: Final = 3
RIDGE_SIGHTS_MOST: Final = 6000
"""Sight lines from inside corners into the material: points on a line and on an arc, directions from each; in all."""

RAY_START_RATIO: Final = 1e-6
RAY_START_MIN_MM: Final = 1e-4
"""A ray starts this far off its face: a millionth of the part's diagonal, above the rounding of single precision."""

WIDEST_SIGHT_DEG: Final = 80.0
"""Faces farther from opposing than this see each other across a corner, never across a wall, however it is pointed."""

FREE_PAIRS_MOST: Final = 60
FREE_SIGHTS_PER_PAIR: Final = 8
"""Pairs with a free face whose exact normals are looked up, and sight lines for each: a look-up costs 50 to 100 us."""

MEETING_STEPS: Final = 12
"""Accelerated projections to and fro: two bores 0.05 mm apart are at 1e-9 mm after 8."""

SQUARE_DEG: Final = 0.5
"""A way this close to a face's normal stands square on it: over a 5 mm wall it is 2e-4 mm longer than the shortest."""

TAPER_DEG: Final = 20.0
"""Faces that converge by more than this make an edge, not a wall: a wedge of 20 degrees has doubled its thickness after
less than three times the thickness. Ribs and cast walls are drawn with up to 5 degrees a side. Judgement."""

BLENDED_TAPER_DEG: Final = 10.0
"""The same where a chamfer or round joins the two faces, as it breaks an edge. Ribs of 5 degrees a side pass."""

LEVEL_TILT_DEG: Final = 3.0
"""Faces this close to parallel count as level where no exact answer can be had: their thickness changes by 5 % over its
own length."""

STILL_MM: Final = 1e-9
"""A search whose points move by less than this has arrived: a tenth of the accuracy STEP files are written with."""

BORDER_PAIRS_MOST: Final = 150
"""Pairs of faces, thinnest first, whose borders are searched for a shorter way: about 0.1 ms each."""

BORDER_SIGHT_RATIO: Final = 3.0
"""Borders are searched where the thinnest sight line is at most this many times what a report lists."""

CLOSEST_MOST: Final = 2
CLOSEST_EDGES_MOST: Final = 600
CLOSEST_FREE_EDGES_MOST: Final = 96
"""Exact distances of bounded faces asked for in one search, and the most pairs of border edges in one, fewer where a
face is free: each costs 10 to 100 ms; 15 s were met between two free faces of 25 edges each."""

NUDGE_RATIO: Final = 0.05
"""A way is checked beside its end, off by this share of its length, since shortest ways end on borders."""

FOOT_NUDGE_RATIO: Final = 0.01
"""The same beside a foot dropped on an unbounded surface: a face that ends that much before it makes the way 1e-4 of
its length too short, no more."""

RING_RATIO: Final = 0.2
RING_DEPTH_RATIO: Final = 0.06
"""A tip has material around it: looked for on a ring of 0.2 thicknesses, 0.06 deep, which clears the bow of any round
face that is thicker than the wall."""

STANDARD_SIZE_MM: Final = 0.013
"""A hole this near a standard size is meant to be it: half a thousandth of an inch, as inch tables are rounded."""

LISTED_MM: Final = 5.0
LISTED_PER_DIAGONAL: Final = 0.05
LISTED_PER_HOLE: Final = 1.5
LISTED_MOST: Final = 200
"""Which thicknesses a report lists: below 5 mm, above which no material's least wall lies; below a twentieth of the
part; and beside a hole below one and a half of its diameter, the usual least distance from an edge. 200 at most."""

AREA_BAND_RATIO: Final = 0.1
AREA_SAMPLES: Final = 128
AREA_SAMPLES_MOST: Final = 8000
"""A place's area counts what is at most a tenth thicker, from 128 samples of its face: good to about a tenth."""

HEIGHT_BAND_RATIO: Final = 2.0
"""A wall is as high as it is at most twice its least thickness: above that a drafted rib holds itself."""

UNDER_FLOOR_DEG: Final = 45.0
"""Material lies below a recess, not beside it, where the way across it is this close to the recess's direction."""

SHARP_EDGE_DEG: Final = 120.0
"""An outside edge of more than this is blunt: the rims of a 45 degree chamfer have 135, a hexagon's corners 120."""

CORNER_TURN_DEG: Final = 15.0
"""Walls that turn by less than this into one another make no corner: a round cutter leaves next to nothing there."""

WALL_LEAN_DEG: Final = 10.0
"""A face this close to the cutter's direction is a wall, draft included; beyond it is a floor or a slope."""

SLIVER_MM: Final = 0.02
"""A strip or edge narrower than this is left over from modelling, not drawn: VDA 4955 calls elements below it tiny."""

GAP_MM: Final = 0.02
"""A larger miss between faces, edges and corners is told: VDA 4955 asks of neighbours that they meet within 0.02 mm."""

REPAIR_GAPS_MM: Final = (1e-3, 0.02, 0.1)
"""Gaps that a repair closes, the smallest that suffices: what exporters leave, what VDA 4955 allows between neighbours,
and the least width that a shop still mills (judgement): a larger gap may be meant."""

REPAIR_SHARE: Final = 0.01
"""Share by which a repair may change volume or area before it is refused: a wall's thickness, not a missing face."""

REPAIR_SAMPLES: Final = 1000
"""Mesh nodes of either model whose distance from the other is measured: 0.6 to 0.8 ms each."""

# --- patterns and twins ---

TWIN_SIZE_MM: Final = 0.004
"""Two sizes of a pattern closer than this are one: 1e-3 on each radius, as exporters round at worst, and as much again.
A hole drawn 0.01 mm wider than its neighbours is another size."""

TWIN_PLACE_MM: Final = 0.02
"""A copy stands where it is expected when it is this near: drawn patterns are exact, but a direction taken from two
places that are each rounded to 1e-3 is off by several times that at the far end of a part."""

TWIN_AREA_RATIO: Final = 1e-4
"""Areas of two copies agree to this share, beside what TWIN_SIZE_MM makes along their borders: ten times MASS_ERROR."""

TWIN_TURN: Final = 2e-3
"""Two directions of a copy are one when they differ by less than this at length one, about 0.1 degrees."""
