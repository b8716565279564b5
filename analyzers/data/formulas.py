"""Formulas of cutting, each with its units and where it is written. Nothing is looked up here and nothing is rounded.

Keys in capitals are those of the table of sources. Every function raises ZeroDivisionError or ValueError where the
formula has no answer (a diameter of zero, a cutter larger than its corner).
"""

from math import acos, degrees, pi, radians, sqrt, tan

# --- speeds and feeds ------------------------------------------------------------------------------------------------


def spindle_rpm(cutting_speed_m_min: float, diameter_mm: float) -> float:
    """Return the revolutions per minute: n = 1000 v_c / (pi D). KEYENCE, WIDIA."""
    return 1000.0 * cutting_speed_m_min / (pi * diameter_mm)


def cutting_speed_m_min(rpm: float, diameter_mm: float) -> float:
    """Return the cutting speed: v_c = pi D n / 1000. KEYENCE."""
    return pi * diameter_mm * rpm / 1000.0


def table_feed_mm_min(rpm: float, teeth: int, feed_per_tooth_mm: float) -> float:
    """Return the feed speed of a mill: v_f = n z f_z. KEYENCE, WIDIA."""
    return rpm * teeth * feed_per_tooth_mm


def feed_per_tooth_mm(table_feed_mm_min: float, rpm: float, teeth: int) -> float:
    """Return the feed per tooth: f_z = v_f / (n z). KEYENCE, MITSU-M."""
    return table_feed_mm_min / (rpm * teeth)


# --- times -----------------------------------------------------------------------------------------------------------


def drilling_minutes(depth_mm: float, rpm: float, feed_per_rev_mm: float, approach_mm: float = 0.0) -> float:
    """Return the time to drill one hole: t = (depth + approach) / (n f). MITSU-D, GROOVEREX (approach: cone)."""
    return (depth_mm + approach_mm) / (rpm * feed_per_rev_mm)


def turning_minutes(length_mm: float, rpm: float, feed_per_rev_mm: float) -> float:
    """Return the time of one pass: t = L / (n f). GROOVEREX."""
    return length_mm / (rpm * feed_per_rev_mm)


def milling_minutes(length_mm: float, approach_mm: float, feed_mm_min: float) -> float:
    """Return the time of one straight pass: t = (L + A) / v_f. GROOVEREX."""
    return (length_mm + approach_mm) / feed_mm_min


def peripheral_approach_mm(depth_of_cut_mm: float, diameter_mm: float) -> float:
    """Return the way from first touch to full cut: A = sqrt(d (D - d)). GROOVEREX; d at most D."""
    return sqrt(depth_of_cut_mm * (diameter_mm - depth_of_cut_mm))


def drill_cone_mm(diameter_mm: float, point_angle_deg: float) -> float:
    """Return the height of a drill's point: D / 2 / tan(angle / 2). GROOVEREX (as drill approach), ARITH."""
    return diameter_mm / 2.0 / tan(radians(point_angle_deg) / 2.0)


# --- volumes, forces, power ------------------------------------------------------------------------------------------


def milling_rate_mm3_min(depth_mm: float, width_mm: float, feed_mm_min: float) -> float:
    """Return the volume removed per minute: a_p a_e v_f. GROOVEREX, MITSU-M."""
    return depth_mm * width_mm * feed_mm_min


def drilling_rate_mm3_min(diameter_mm: float, feed_mm_min: float) -> float:
    """Return the volume removed per minute: pi D^2 v_f / 4. GROOVEREX."""
    return pi * diameter_mm**2 / 4.0 * feed_mm_min


def turning_rate_mm3_min(cutting_speed_m_min: float, feed_per_rev_mm: float, depth_mm: float) -> float:
    """Return the volume removed per minute: 1000 v_c f a_p. GROOVEREX."""
    return 1000.0 * cutting_speed_m_min * feed_per_rev_mm * depth_mm


def specific_force_n_mm2(kc1_n_mm2: float, mc: float, chip_thickness_mm: float) -> float:
    """Return the specific cutting force: k_c = k_c1.1 h^-m_c (Kienzle). ISCAR17, TABZ."""
    return float(kc1_n_mm2 * chip_thickness_mm**-mc)


def cutting_force_n(specific_force_n_mm2: float, chip_width_mm: float, chip_thickness_mm: float) -> float:
    """Return the cutting force on one edge: F_c = k_c b h, by the definition of k_c as force per area of chip."""
    return specific_force_n_mm2 * chip_width_mm * chip_thickness_mm


def mean_chip_mm(feed_per_tooth_mm: float, width_mm: float, diameter_mm: float) -> float:
    """Return the mean chip thickness of a square-shouldered cut with the edges along the axis.

    The chip's area f_z a_e, spread over the arc of contact: h_m = 2 f_z a_e / (D phi), with phi from
    `engagement_deg`. Own derivation: the chip's area is kept.
    """
    return 2.0 * feed_per_tooth_mm * width_mm / (diameter_mm * radians(engagement_deg(width_mm, diameter_mm)))


def milling_power_kw(
    depth_mm: float, width_mm: float, feed_mm_min: float, specific_force_n_mm2: float, efficiency: float = 1.0
) -> float:
    """Return the drive's power: P = a_p a_e v_f k_c / (60e6 eta). MITSU-M."""
    return depth_mm * width_mm * feed_mm_min * specific_force_n_mm2 / (60e6 * efficiency)


def turning_power_kw(
    depth_mm: float, feed_mm: float, cutting_speed_m_min: float, specific_force_n_mm2: float, efficiency: float = 1.0
) -> float:
    """Return the drive's power: P = a_p f v_c k_c / (60e3 eta). MITSU-T."""
    return depth_mm * feed_mm * cutting_speed_m_min * specific_force_n_mm2 / (60e3 * efficiency)


def unit_power_kw(rate_mm3_min: float, energy_j_mm3: float) -> float:
    """Return the power at the cutter from the energy per volume: P = U R / 60e3. GROOVER."""
    return rate_mm3_min * energy_j_mm3 / 60e3


# --- bending ---------------------------------------------------------------------------------------------------------

CORE_RATIO = 0.8
"""An end mill bends as a rod of this share of its diameter. EQDIA."""


def cutter_deflection_mm(
    force_n: float, stick_out_mm: float, diameter_mm: float, modulus_gpa: float, core_ratio: float = CORE_RATIO
) -> float:
    """Return how far a cutter bends at its tip: F L^3 / (3 E I), I = pi d^4 / 64, d = core_ratio D. BEAM, EQDIA."""
    inertia_mm4 = pi * (core_ratio * diameter_mm) ** 4 / 64.0
    return force_n * stick_out_mm**3 / (3.0 * modulus_gpa * 1e3 * inertia_mm4)


def wall_deflection_mm(
    force_n: float, height_mm: float, thickness_mm: float, strip_mm: float, modulus_gpa: float
) -> float:
    """Return how far a wall bends at its top, as a strip held at its foot: F h^3 / (3 E I), I = b t^3 / 12. BEAM."""
    return force_n * height_mm**3 / (3.0 * modulus_gpa * 1e3 * strip_mm * thickness_mm**3 / 12.0)


# --- surfaces and corners --------------------------------------------------------------------------------------------


def scallop_mm(diameter_mm: float, step_over_mm: float) -> float:
    """Return the ridge a ball-nose cutter leaves on a plane: r - sqrt(r^2 - (a_e / 2)^2). SCALLOP."""
    radius = diameter_mm / 2.0
    return radius - sqrt(radius**2 - (step_over_mm / 2.0) ** 2)


def step_over_mm(diameter_mm: float, scallop_mm: float) -> float:
    """Return the distance of passes that leaves a given ridge: 2 sqrt(h (D - h)). SCALLOP."""
    return 2.0 * sqrt(scallop_mm * (diameter_mm - scallop_mm))


def turned_roughness_um(feed_per_rev_mm: float, nose_radius_mm: float) -> tuple[float, float]:
    """Return R_t = f^2 / (8 r) and R_a = f^2 / (32 r), micrometres. RAFORM."""
    return feed_per_rev_mm**2 / (8.0 * nose_radius_mm) * 1e3, feed_per_rev_mm**2 / (32.0 * nose_radius_mm) * 1e3


def engagement_deg(width_mm: float, diameter_mm: float) -> float:
    """Return the arc of the cutter that is in the material along a straight wall: acos(1 - 2 a_e / D). CORNER."""
    return degrees(acos(1.0 - 2.0 * width_mm / diameter_mm))


def corner_engagement_deg(corner_radius_mm: float, cutter_radius_mm: float, stock_mm: float) -> float:
    """Return the largest arc of contact while a finishing pass goes round an inside corner of a right angle.

    The centre runs on a circle of R - r about the corner's centre; the rough corner before it has the radius R - a.
    Never more than a right angle plus the arc along the wall, which is the answer for a cutter that just fits. CORNER.

    Raises
    ------
    ValueError : the cutter is larger than the corner, or the corner before the pass is none
    """
    orbit = corner_radius_mm - cutter_radius_mm
    rough = corner_radius_mm - stock_mm
    if orbit < 0.0 or rough < 0.0:
        raise ValueError(f"cutter radius {cutter_radius_mm}, stock {stock_mm}: expected at most {corner_radius_mm}")
    most = 90.0 + engagement_deg(stock_mm, 2.0 * cutter_radius_mm)
    if orbit == 0.0:
        return most
    cosine = (rough**2 - orbit**2 - cutter_radius_mm**2) / (2.0 * orbit * cutter_radius_mm)
    return min(most, degrees(acos(max(-1.0, min(1.0, cosine)))))


def corner_feed_ratio(corner_radius_mm: float, cutter_radius_mm: float) -> float:
    """Return feed of the centre / feed of the edge in an inside corner: (R - r) / R. CORNER."""
    return (corner_radius_mm - cutter_radius_mm) / corner_radius_mm


# --- threads, bars ---------------------------------------------------------------------------------------------------


def thread_percent(nominal: float, drill: float, threads_per_unit: float) -> float:
    """Return the thread's height in percent of 0.75 H: (d - drill) n / 1.299038 x 100; one unit throughout. ARITH."""
    return (nominal - drill) * threads_per_unit / (sqrt(3.0) * 0.75) * 100.0


def minor_diameter_mm(nominal_mm: float, pitch_mm: float) -> float:
    """Return the basic inside diameter of an ISO metric thread: D1 = d - 1.082532 P (ISO 68-1). ARITH."""
    return nominal_mm - 2.0 * 5.0 / 8.0 * (sqrt(3.0) / 2.0) * pitch_mm


def hot_rolled_bar(finish: float) -> float:
    """Return the size of hot-rolled bar that cleans up to a finished size: finish / 0.968; any unit. USALLOYS."""
    return finish / 0.968


def tapped_edge_distance(nominal: float, pitch: float) -> float:
    """Return the least distance of a tapped hole's centre from an edge: 3 P + d / 2; one unit throughout. BJG."""
    return 3.0 * pitch + nominal / 2.0


def parting_reach_mm(width_mm: float) -> float:
    """Return how deep a parting insert reaches in steel: 8 widths. INGERSOLL."""
    return 8.0 * width_mm
