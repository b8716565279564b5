"""A made part whose every dimension can be changed, for pairs of revisions; invented."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from OCP.gp import gp_Trsf

from analyzers.model.report import Report
from analyzers.pipeline import analyse
from analyzers.settings import Settings, load_settings
from fixtures.make.vocabulary import blends, holes, raised, recesses
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Vec, Work
from tests.kernel._files import write_shapes
from tests.kernel._solids import moved


@dataclass(frozen=True)
class Latch:
    """Dimensions of the part, millimetres; None = the feature is not there."""

    length: float = 120.0
    dowel: float | None = 6.0
    dowel_at: tuple[float, float] = (12.0, 12.0)
    screw: float = 6.6
    screw_depth: float = 20.0
    bore: float = 11.0
    bore_depth: float = 6.4
    sink: float = 9.0
    blind: float | None = 5.0
    blind_depth: float = 12.0
    pocket: tuple[float, float, float] = (40.0, 24.0, 8.0)
    corner: float = 4.0
    pocket_at: tuple[float, float] = (50.0, 40.0)
    slot_width: float | None = 8.0
    slot_depth: float = 5.0
    boss: float | None = 10.0
    boss_height: float = 6.0
    chamfer: float | None = 1.5
    step_depth: float = 4.0
    second: tuple[float, float] | None = None  # place of a further dowel hole

    def work(self) -> Work:
        """Return the part."""
        top = 20.0
        made = block((self.length, 80.0, top))
        if self.dowel is not None:
            holes.drill(made, (*self.dowel_at, top), self.dowel, top, bottom="through")
        holes.counterbore(made, (108.0, 14.0, top), self.screw, top, bore=self.bore, bore_depth=self.bore_depth)
        holes.countersink(made, (14.0, 68.0, top), 4.5, top, sink=self.sink)
        if self.blind is not None:
            holes.drill(made, (84.0, 20.0, top), self.blind, self.blind_depth)
        recesses.pocket(made, (*self.pocket_at, top), *self.pocket, corner_radius=self.corner)
        if self.slot_width is not None:
            recesses.slot(made, (40.0, 14.0, top), 30.0, self.slot_width, self.slot_depth, ends=("round", "round"))
        recesses.step(made, (60.0, 80.0, top), self.length, 6.0, self.step_depth, side=(0.0, 1.0, 0.0))
        if self.boss is not None:
            raised.round_boss(made, (96.0, 50.0, top), self.boss, self.boss_height)
        if self.chamfer is not None:
            blends.chamfer_edges(made, [(0.0, 40.0, top)], self.chamfer)
        return made


@cache
def settings() -> Settings:
    """Return the built-in settings."""
    return load_settings()


def report_of(latch: Latch, folder: Path, move: gp_Trsf | None = None, name: str = "latch") -> Report:
    """Return the report of a revision, written as a STEP file and read again; moved first where asked."""
    shape = latch.work().shape
    path = write_shapes([shape if move is None else moved(shape, move)], folder / f"{name}.step")
    return analyse(path, settings())


__all__ = ["Latch", "Vec", "report_of", "settings"]
