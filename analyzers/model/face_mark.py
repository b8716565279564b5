"""What is written on a face of the model that goes back to its designer."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FaceMark:
    """The name of a face (ASCII: not every CAD program reads more) and its colour, red, green, blue in 0..255."""

    name: str
    colour: tuple[int, int, int]

    def __post_init__(self) -> None:
        if not self.name.isascii():
            raise ValueError(f"found the face name {self.name!r}; expected ASCII")
