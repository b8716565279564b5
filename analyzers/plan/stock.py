"""The blank a part is cut from: the smallest plate, bar or block of the shop's list, with the allowance all round."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.part import Part, Surface
from analyzers.plan.bench import at_most
from analyzers.plan.frame import Frame
from analyzers.plan.turning import axis_point, runs_about
from analyzers.settings import Material, Shop

Form = Literal["plate", "flat_bar", "round_bar", "block"]


@dataclass(frozen=True, slots=True)
class Blank:
    """One piece of stock. `size_mm` lies along the frame's axes; a round bar has its diameter across it."""

    form: Form
    size_mm: Vec
    volume_mm3: float
    squared_mm: Vec  # the box of the part itself along the frame
    why: str


def blank_for(part: Part, frame: Frame, shop: Shop, material: Material, axis: Floats | None = None) -> Blank:
    """Return the smallest blank by volume.

    Parameters
    ----------
    part, frame : the body and its main directions; of a turned part the first axis of the frame is the turning axis
    shop, material : stock list, allowance; a list entry that names materials is for those alone
    axis : (3,) turning axis: a round bar is taken; None: plate, flat bar, or a block ordered to size
    """
    need = np.round(frame.size_mm + 2.0 * shop.stock_allowance_mm, 3)
    box = vec(np.round(frame.size_mm, 3))
    if axis is not None:
        return _bar(part, frame, axis, need, shop, material)
    options = list(_flat_stock(need, shop, material))
    if options:
        return min(options, key=lambda blank: (blank.volume_mm3, blank.form, blank.size_mm))
    why = "block ordered to size" + (": nothing on the stock list is thick enough" if _sizes(shop, material) else "")
    return Blank(form="block", size_mm=vec(need), volume_mm3=float(np.prod(need)), squared_mm=box, why=why)


def _sizes(shop: Shop, material: Material) -> bool:
    """Return whether the shop lists any flat stock for the material."""
    return any(each.form != "round_bar" and _for(each.materials, material) for each in shop.stock)


def _for(materials: tuple[str, ...], material: Material) -> bool:
    """Return whether a list entry is meant for the material."""
    return not materials or material.id in materials


def _flat_stock(need: Floats, shop: Shop, material: Material) -> Iterator[Blank]:
    """Yield every blank from plate or flat bar that is large enough; sawn lengths are as needed."""
    squared = vec(need - 2.0 * shop.stock_allowance_mm)
    for entry in shop.stock:
        if entry.form == "round_bar" or not _for(entry.materials, material):
            continue
        flat = int(np.argmin(need))
        for thin in range(3):
            thickness = min((size for size in entry.sizes_mm if at_most(need[thin], size)), default=None)
            if thickness is None or (entry.form == "plate" and thin != flat):
                continue
            if entry.form == "plate":
                size = need.copy()
                size[thin] = thickness
                why = f"plate {thickness:.4g} mm thick, sawn to size"
                yield Blank("plate", vec(size), float(np.prod(size)), squared, why)
                continue
            for wide in (i for i in range(3) if i != thin):
                width = min((each for each in entry.widths_mm if at_most(need[wide], each)), default=None)
                if width is None:
                    continue
                size = need.copy()
                size[thin], size[wide] = thickness, width
                why = f"flat bar {width:.4g} x {thickness:.4g} mm, sawn to length"
                yield Blank("flat_bar", vec(size), float(np.prod(size)), squared, why)


def _bar(part: Part, frame: Frame, axis: Floats, need: Floats, shop: Shop, material: Material) -> Blank:
    """Return a round bar that holds the part's outline about the axis."""
    offset = part.mesh.point_mm - axis_point(part, axis)
    radius = float(np.linalg.norm(offset - (offset @ axis)[:, None] * axis, axis=1).max())
    rounds = runs_about(part, axis) & (part.face_surface == Surface.CYLINDER)  # exact, where the mesh cuts corners
    radius = max(radius, float(part.face_radius_mm[rounds].max(initial=0.0)))
    wanted = 2.0 * (radius + shop.stock_allowance_mm)
    listed = [
        d
        for entry in shop.stock
        if entry.form == "round_bar" and _for(entry.materials, material)
        for d in entry.sizes_mm
    ]
    diameter = min((d for d in listed if at_most(wanted, d)), default=wanted)
    why = f"round bar ⌀{diameter:.4g} mm" + (
        "" if diameter in listed else ", ordered: none on the stock list is that large"
    )
    along = np.abs(frame.axes @ axis) > 0.5
    length = float(need[along][0])
    size = np.where(along, length, diameter)
    volume = float(np.pi / 4.0 * diameter**2 * length)
    return Blank("round_bar", vec(size), volume, vec(frame.size_mm), why)
