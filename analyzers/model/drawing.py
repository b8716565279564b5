"""Line drawings of a body: what is seen and what is hidden, as arrays (ISO 128-2, ISO 128-3)."""

from dataclasses import dataclass

from analyzers.model.arrays import Floats, Vec, frozen


@dataclass(frozen=True, slots=True)
class View:
    """One way of looking at a part: unit vectors to the right and up in the picture, and out to the eye."""

    name: str
    right: Vec
    up: Vec
    out: Vec


@dataclass(frozen=True, slots=True)
class LineDrawing:
    """A view in parallel projection as straight pieces: [piece, end, (right, up)] in millimetres from the origin."""

    view: View
    visible_mm: Floats  # (N, 2, 2) edges and outlines that are seen
    smooth_mm: Floats  # (M, 2, 2) seen edges across which the surface is tangent
    hidden_mm: Floats  # (K, 2, 2) edges and outlines behind material

    def __post_init__(self) -> None:
        for lines in (self.visible_mm, self.smooth_mm, self.hidden_mm):
            if lines.ndim != 3 or lines.shape[1:] != (2, 2):
                raise ValueError(f"found lines of shape {lines.shape}; expected (N, 2, 2)")
            frozen(lines)
