"""The kinds of export and their file names; light, so that the command's help can name them."""

from typing import Final, Literal

Export = Literal["xlsx", "csv", "glb", "step", "pdf"]

STAGE: Final = "export"
"""The stage in which they are written."""
FILE_OF: Final[dict[str, str]] = {
    "xlsx": "report.xlsx",
    "csv": "features.csv",
    "glb": "part.glb",
    "step": "part.step",
    "pdf": "report.pdf",
}
