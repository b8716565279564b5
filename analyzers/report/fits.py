"""What a hole is probably for, in a few words for the hole chart: screw, thread, pin, with the standard."""

from collections.abc import Iterable
from typing import Final

from markupsafe import Markup

from analyzers.data.hole_sizes import Use, uses_in_model
from analyzers.data.screw_heads import counterbore_uses, countersink_uses
from analyzers.features.hole import CounterboreHole, CountersunkHole, Hole
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.report.german import listed, sentence, word
from analyzers.units import UnitSystem

SHOWN: Final = 2
"""Uses named for one hole; the most plausible first."""


def uses(hole: Hole, units: UnitSystem, notes: Iterable[ToleranceNote] = ()) -> tuple[Use, ...]:
    """Return what a hole is probably for, the most plausible first.

    What the model's own notes name comes before all; a screw head says more than the hole below it, unless it is one of
    the other system of units.
    """
    heads: tuple[Use, ...] = ()
    if isinstance(hole, CounterboreHole):
        depth_mm = hole.counterbore_depth_mm
        heads = counterbore_uses(hole.diameter_mm, hole.counterbore_diameter_mm, depth_mm, units)
    elif isinstance(hole, CountersunkHole):
        angle_deg = hole.countersink_angle_deg
        heads = countersink_uses(hole.diameter_mm, hole.countersink_diameter_mm, angle_deg, units)
    sized = uses_in_model(hole.diameter_mm, hole.depth_mm, hole.through, units, notes)
    named = [each for each in sized if each.use in ("threaded", "fitted")]
    own = [each for each in heads if each.fastener.startswith("M") == (units == "mm")]
    foreign = [each for each in heads if each not in own]
    return (*named, *own, *sized[len(named) :], *foreign)


def probably_for(hole: Hole, units: UnitSystem, notes: Iterable[ToleranceNote] = ()) -> Markup:
    """Return for example "clearance for M6, medium fit (ISO 273)" as HTML; says where a size is unverified.

    What the model itself names needs no guess beside it.
    """
    found = uses(hole, units, notes)
    said = [each for each in found if each.use in ("threaded", "fitted")]
    named = [_said(each) for each in said or found[:SHOWN]]
    return (Markup("; ") + word("or") + Markup(" ")).join(named)


def _said(use: Use) -> Markup:
    text = sentence(use.text)
    if not use.standard:
        return text
    source = listed([use.standard, *(["unverified"] if use.prov == "memory" else [])])
    return Markup('%s <span class="quiet">(%s)</span>') % (text, source)
