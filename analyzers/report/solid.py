"""What the page's viewer knows about one body: mesh, faces, features, findings and places, as one JSON text."""

import base64
import json
import math
import zlib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from analyzers.model.arrays import Vec
from analyzers.model.facegraph import smooth_edges
from analyzers.model.feature import Feature
from analyzers.model.inch_text import inch_callout, inch_number
from analyzers.model.part import Surface
from analyzers.model.plan import Uncut
from analyzers.model.report import Body, Facts
from analyzers.report import quantity
from analyzers.report.callouts import Marker
from analyzers.report.german import in_german, variants
from analyzers.report.mesh_bytes import pack
from analyzers.report.palette import LOOKS
from analyzers.report.text import clean
from analyzers.report.words import KIND, LEVEL

_LEFT_OUT = {"segments"}
_CODES = 254
"""Steps of the thickness scale: a byte, less the code for unknown."""


@cache
def viewer_code() -> str | None:
    """Return the viewer's script; None where it was not built (then the page keeps its pictures)."""
    built = files("analyzers.report") / "viewer" / "dist" / "viewer.js"
    return built.read_text(encoding="utf-8") if built.is_file() else None


def solid_text(body: Body, view: Vec, markers: Iterable[Marker], findings: Iterable[dict[str, Any]]) -> str:
    """Return the JSON text; safe inside an HTML script element, whatever the names in it.

    Parameters
    ----------
    view : direction to the eye of the page's picture, with which the viewer starts
    markers : those of the picture
    findings : number, word, anchor, faces, features of each finding of the page
    """
    part, facts = body.facts.part, body.facts
    classes = list(LOOKS)
    pairs = part.edge_faces[smooth_edges(part)]
    setup_of = {feature: setup.id for setup in body.plan.setups for feature in setup.features}
    cutters: dict[str, list[str]] = {}
    for tool in body.plan.tools:
        for feature in tool.features:
            cutters.setdefault(feature, []).append(clean(tool.cutter))
    content = {
        "id": body.id,
        "view": view,
        "mesh": base64.b64encode(pack(part.mesh, part.n_faces)).decode("ascii"),
        "smooth": [int(face) for pair in pairs for face in sorted(pair)],
        "classes": [{"word": look.word, "colour": look.hex} for look in LOOKS.values()],
        "faceClass": [classes.index(each) for each in facts.face_class],
        "surfaces": [Surface(int(each)).name.lower() for each in part.face_surface],
        "radii": [round(each, 4) if math.isfinite(each) else None for each in part.face_radius_mm.tolist()],
        "features": [_feature(each, setup_of.get(each.id), cutters.get(each.id, [])) for each in facts.features],
        "findings": list(findings),
        "german": _german(facts),
        "thickness": _thickness(facts),
        "uncut": list(_uncut(body)),
        "marks": [
            {
                "label": each.place.label,
                "shape": each.place.shape,
                "title": clean(each.place.title, 200),
                "names": variants(clean(each.place.title, 200), clean(each.place.german, 200)),
                "faces": each.place.faces,
                "point": each.point_mm,
            }
            for each in markers
        ],
    }
    text = json.dumps(content, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _german(facts: Facts) -> dict[str, str]:
    """Return the German of the words in which the viewer describes a face."""
    numbers = {name for each in facts.features for name, _ in _numbers(each)}
    kinds = {KIND[each.kind] for each in facts.features}
    surfaces = {Surface(int(each)).name.lower() for each in facts.part.face_surface}
    english = {*numbers, *kinds, *surfaces, *LEVEL.values(), *(look.word for look in LOOKS.values())}
    return {each: said for each in sorted(english) if (said := in_german(each)) is not None}


def _uncut(body: Body) -> Iterable[dict[str, Any]]:
    """Yield what each cutter leaves standing, the largest first; cutter "" = what all of a feature's leave together."""
    found: dict[str, list[Uncut]] = {}
    for each in body.plan.uncut:
        found.setdefault(clean(each.cutter or ""), []).append(each)
    for cutter, places in sorted(found.items(), key=lambda item: -sum(each.volume_mm3 for each in item[1])):
        volume = sum(each.volume_mm3 for each in places)
        mm, inch = f"{quantity.mm_number(volume, 3)} mm³", f"{inch_number(volume, 3)} in³"
        yield {
            "cutter": cutter,
            "faces": sorted({face for each in places for face in each.faces}),
            "volume": [mm, inch],
            "features": list(dict.fromkeys(each.feature for each in places)),
        }


def _thickness(facts: Facts) -> dict[str, Any] | None:
    """Return how thick the material is behind each triangle, in the mesh's packed order: codes and their range.

    Code 0 = not known; 1..255 = on a logarithmic scale from `low` to `high` millimetres.
    """
    if facts.thickness_mm is None:
        return None
    value = facts.thickness_mm[np.argsort(facts.part.mesh.triangle_face, kind="stable")]
    known = np.isfinite(value) & (value > 0)
    if not known.any():
        return None
    low, high = float(value[known].min()), float(value[known].max())
    span = math.log(high / low) or 1.0
    code = np.zeros(len(value), dtype=np.uint8)
    code[known] = 1 + np.round(_CODES * np.log(value[known] / low) / span).astype(np.uint8)
    packed = base64.b64encode(zlib.compress(code.tobytes(), 9)).decode("ascii")
    return {"codes": packed, "low": round(low, 4), "high": round(high, 4)}


def _feature(feature: Feature, setup: str | None, cutters: list[str]) -> dict[str, Any]:
    callout = feature.callout()
    return {
        "id": feature.id,
        "kind": KIND[feature.kind],
        "faces": feature.faces,
        "callout": [callout, inch_callout(callout)],
        "numbers": list(_numbers(feature)),
        "setup": setup,
        "cutters": list(dict.fromkeys(cutters)),
    }


def _numbers(feature: Feature) -> Iterable[tuple[str, tuple[str, str]]]:
    """Yield each of the feature's own numbers in words: name, and value in both units."""
    for name, value in feature.dimensions().items():
        if name in _LEFT_OUT or isinstance(value, bool) or not isinstance(value, float):
            continue
        if name.endswith("_mm"):
            mm, inch = f"{quantity.mm_number(value)} mm", f"{inch_number(value)} in"
            yield name.removesuffix("_mm").replace("_", " "), (mm, inch)
        elif name.endswith("_deg") and value:
            yield name.removesuffix("_deg").replace("_", " "), (f"{value:.4g}°", f"{value:.4g}°")
        elif name.endswith("_ratio"):
            yield name.replace("_", " "), (f"{value:.2f}", f"{value:.2f}")
