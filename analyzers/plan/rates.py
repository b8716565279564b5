"""How fast a cutter of the shop cuts a material on a machine: speed, feed, and what power and bending leave of it.

The figures are starting values for an estimate. Where a share or a factor has no source it says so beside it.
"""

import math
from dataclasses import dataclass, field
from typing import Final

from analyzers.data import formulas
from analyzers.settings import Cutter, Machine, Material, Shop

SIDE_ENGAGEMENT_RATIO: Final = 0.4  # width of cut / diameter when roughing (common practice, no source)
DEPTH_OF_CUT_RATIO: Final = 1.0  # depth of cut / diameter, at most (full slotting: ap <= 1 x D, key WIDIA)
FLOOR_STEP_RATIO: Final = 0.6  # step / diameter on floors and faces (common practice, no source)
MOVING_SHARE: Final = 0.6  # of the time a cutter runs, the part in which it cuts (judgement)
ROUGHING_BEND_RATIO: Final = 10.0  # a roughing cutter may bend this many times a finishing one (judgement)
DRILL_FEED_RATIO: Final = 0.017  # feed per turn / diameter, at most (examples E08 to E10 lie between 0.010 and 0.0167)
PECK_FREE_RATIO: Final = 3.0  # depth / diameter drilled in one go (deep drilling begins at about 3 d, key WERDER)
PECK_SHARE: Final = 0.12  # more time for each diameter beyond (judgement)
POSITION_MIN: Final = 0.05  # from hole to hole, 3 s (judgement)
CARBIDE_MODULUS_GPA: Final = 600.0  # as in example E17
HSS_MODULUS_GPA: Final = 210.0  # as for steel
HSS_SPEED_RATIO: Final = 1.0 / 3.0  # where the material gives no speed for high-speed steel (common practice)
TAPPING_SPEED_RATIO: Final = 1.0 / 3.0  # of the speed of high-speed steel in milling (common practice, no source)
TAP_LEAD_TURNS: Final = 4.0  # approach and lead of a tap, in pitches (common practice, no source)
TURNING_FEED_MM: Final = 0.2  # as in example E07
TURNING_DEPTH_MM: Final = 2.0  # common practice, no source
TURNING_FINISH_FEED_MM: Final = 0.1  # common practice, no source


@dataclass(frozen=True, slots=True)
class Rates:
    """Answers for one machine and one material. All minutes are one part's, and grow with every length and volume."""

    machine: Machine
    material: Material
    shop: Shop
    _feeds_mm_min: dict[tuple[str, float, int, str], float] = field(default_factory=dict, compare=False, repr=False)

    def rpm(self, cutter: Cutter) -> float:
        """Return the spindle speed, limited by the machine."""
        speed = self.material.cutting_speed_m_min
        if cutter.made_of == "hss":
            speed = self._hss_speed_m_min()
        return min(formulas.spindle_rpm(speed, cutter.diameter_mm), self.machine.max_rpm)

    def _hss_speed_m_min(self) -> float:
        """Return the cutting speed of high-speed steel."""
        return self.material.cutting_speed_hss_m_min or self.material.cutting_speed_m_min * HSS_SPEED_RATIO

    def table_feed_mm_min(self, cutter: Cutter) -> float:
        """Return the feed of a milling cutter: vf = n z fz, limited by the machine; worked out once for each."""
        key = (cutter.id, cutter.diameter_mm, cutter.flutes, cutter.made_of)
        if key not in self._feeds_mm_min:
            tooth_mm = self.material.feed_per_tooth_ratio * cutter.diameter_mm
            feed = formulas.table_feed_mm_min(self.rpm(cutter), cutter.flutes, tooth_mm)
            self._feeds_mm_min[key] = min(feed, self.machine.max_feed_mm_min)
        return self._feeds_mm_min[key]

    def roughing_mm3_min(self, cutter: Cutter, depth_mm: float) -> float:
        """Return the volume removed a minute with the cutter reaching down that far.

        Width x depth x feed of the cut, no more than the spindle's power drives (P = Q kc / eta) and than keeps the
        cutter from bending too far; both by Kienzle's force, where the material has one.
        """
        width = SIDE_ENGAGEMENT_RATIO * cutter.diameter_mm
        height = min(DEPTH_OF_CUT_RATIO * cutter.diameter_mm, cutter.flute_length_mm)
        rate = formulas.milling_rate_mm3_min(height, width, self.table_feed_mm_min(cutter))
        return (
            min(
                rate * self._bending_share(cutter, height, depth_mm),
                self._power_mm3_min(self._force_n_mm2(self._chip_mm(cutter))),
            )
            * MOVING_SHARE
        )

    def roughing_minutes(self, cutter: Cutter, volume_mm3: float, depth_mm: float) -> float:
        """Return the time to clear a volume that is that deep."""
        return volume_mm3 / self.roughing_mm3_min(cutter, depth_mm)

    def wall_minutes(self, cutter: Cutter, area_mm2: float, depth_mm: float) -> float:
        """Return the time of one finishing pass along walls; a slender cutter takes them in lower levels."""
        height = min(cutter.flute_length_mm, 2.0 * cutter.diameter_mm)
        height *= min(1.0, (PECK_FREE_RATIO * cutter.diameter_mm / max(depth_mm, 1e-9)) ** 2)
        return area_mm2 / (height * self.table_feed_mm_min(cutter) * MOVING_SHARE)

    def floor_minutes(self, cutter: Cutter, area_mm2: float) -> float:
        """Return the time of one finishing pass over a floor or a face."""
        return area_mm2 / (FLOOR_STEP_RATIO * cutter.diameter_mm * self.table_feed_mm_min(cutter) * MOVING_SHARE)

    def surface_minutes(self, cutter: Cutter, area_mm2: float) -> float:
        """Return the time of ball-nose passes that leave ridges of `scallop_height_mm`: step = 2 sqrt(2 r h - h^2)."""
        round_mm = 2.0 * cutter.corner_radius_mm
        step = formulas.step_over_mm(round_mm, min(self.shop.scallop_height_mm, round_mm / 2.0))
        return area_mm2 / (step * self.table_feed_mm_min(cutter) * MOVING_SHARE)

    def path_minutes(self, cutter: Cutter, length_mm: float) -> float:
        """Return the time along a line, such as a chamfer's."""
        return length_mm / (self.table_feed_mm_min(cutter) * MOVING_SHARE)

    def drilling_minutes(self, cutter: Cutter, depth_mm: float) -> float:
        """Return the time for one hole: approach, feed, pecks beyond three diameters, the way to the next."""
        ratio = min(DRILL_FEED_RATIO, self.material.feed_per_tooth_ratio * cutter.flutes)
        approach = formulas.drill_cone_mm(cutter.diameter_mm, cutter.point_angle_deg or 180.0)
        once = formulas.drilling_minutes(depth_mm, self.rpm(cutter), ratio * cutter.diameter_mm, approach)
        pecks = max(depth_mm / cutter.diameter_mm - PECK_FREE_RATIO, 0.0)
        return once * (1.0 + PECK_SHARE * pecks) + POSITION_MIN

    def tapping_minutes(self, diameter_mm: float, pitch_mm: float, depth_mm: float) -> float:
        """Return the time to tap one hole and to wind the tap out again: one pitch a turn."""
        rpm = formulas.spindle_rpm(TAPPING_SPEED_RATIO * self._hss_speed_m_min(), diameter_mm)
        rpm = min(rpm, self.machine.max_rpm)
        return 2.0 * formulas.drilling_minutes(depth_mm, rpm, pitch_mm, TAP_LEAD_TURNS * pitch_mm) + POSITION_MIN

    def turning_minutes(self, volume_mm3: float, area_mm2: float, diameter_mm: float) -> float:
        """Return the time to turn away a volume and to finish an area of about that diameter."""
        rpm = min(formulas.spindle_rpm(self.material.cutting_speed_m_min, diameter_mm), self.machine.max_rpm)
        speed = formulas.cutting_speed_m_min(rpm, diameter_mm)
        rate = formulas.turning_rate_mm3_min(speed, TURNING_FEED_MM, TURNING_DEPTH_MM)
        rate = min(rate, self._power_mm3_min(self._force_n_mm2(TURNING_FEED_MM)))
        length = area_mm2 / (math.pi * diameter_mm)  # of a cylinder with that area
        return (volume_mm3 / rate + formulas.turning_minutes(length, rpm, TURNING_FINISH_FEED_MM)) / MOVING_SHARE

    def _chip_mm(self, cutter: Cutter) -> float:
        """Return the mean chip thickness of the roughing cut."""
        tooth_mm = self.material.feed_per_tooth_ratio * cutter.diameter_mm
        return formulas.mean_chip_mm(tooth_mm, SIDE_ENGAGEMENT_RATIO * cutter.diameter_mm, cutter.diameter_mm)

    def _force_n_mm2(self, chip_mm: float) -> float | None:
        """Return the specific cutting force; None where none is published for the material."""
        if self.material.kc1_n_mm2 is None or self.material.mc is None:
            return None
        return formulas.specific_force_n_mm2(self.material.kc1_n_mm2, self.material.mc, chip_mm)

    def _power_mm3_min(self, force_n_mm2: float | None) -> float:
        """Return the volume a minute that the drive can cut: P = Q kc / (60e6 eta), solved for Q."""
        if force_n_mm2 is None:
            return math.inf
        return self.machine.power_kw * 60e6 * self.machine.efficiency_ratio / force_n_mm2

    def _bending_share(self, cutter: Cutter, height_mm: float, depth_mm: float) -> float:
        """Return what share of the full cut keeps the cutter within the bending allowed when roughing."""
        chip = self._chip_mm(cutter)
        specific = self._force_n_mm2(chip)
        if specific is None or depth_mm <= 0.0:
            return 1.0
        force = formulas.cutting_force_n(specific, height_mm, chip)
        modulus = CARBIDE_MODULUS_GPA if cutter.made_of == "carbide" else HSS_MODULUS_GPA
        body_mm = cutter.neck_diameter_mm or cutter.diameter_mm
        bends = formulas.cutter_deflection_mm(force, depth_mm, body_mm, modulus)
        return min(1.0, ROUGHING_BEND_RATIO * self.shop.max_deflection_mm / bends)
