"""What every report says about itself, whatever the part."""

from typing import Final

CAUTIONS: Final = (
    "Times, limits and suggestions here are estimates from the model's geometry and the shop settings named above; "
    "they are no quotation and no release.",
    "Your shop's own procedures, local codes and regulations, and the judgement of licensed or qualified people "
    "come first; where they differ from this report, follow them.",
    "A solid model rarely carries tolerances, threads, surface finish, heat treatment or coating: what the drawing or "
    "the order says about them is not judged here unless the report says so.",
    "Check work holding, reach and collisions on your own machine before you cut.",
)
"""The contract: estimates; defer to the shop's own procedures, local codes and licensed practice."""
