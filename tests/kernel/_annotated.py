"""Adds semantic annotations (ISO 10303-242) to the text of a STEP file, entity by entity."""

import re
from pathlib import Path

_UNIT = re.compile(r"\(\((#\d+),(#\d+),#\d+\)\)\s*REPRESENTATION_CONTEXT")


class Annotated:
    """The text of a file with one solid, to which notes are added; faces are named by their number in the solid."""

    def __init__(self, path: Path) -> None:
        self._path = path
        text = path.read_text(encoding="ascii")
        self._flat = re.sub(r"\s*\n\s*", "", text)
        shell = re.search(r"CLOSED_SHELL\('',\(([^)]*)\)", self._flat)
        units = _UNIT.search(self._flat)
        shape = re.search(r"(#\d+) = PRODUCT_DEFINITION_SHAPE", self._flat)
        solid = re.search(r"(#\d+) = ADVANCED_BREP_SHAPE_REPRESENTATION\('',\([^)]*\),(#\d+)\)", self._flat)
        assert shell is not None
        assert units is not None
        assert shape is not None
        assert solid is not None
        self._faces = shell[1].split(",")
        self.length_unit, self.angle_unit = units.groups()
        self.shape, (self.solid, self.context) = shape[1], solid.groups()
        self._next = 1 + max(map(int, re.findall(r"#(\d+) =", self._flat)))
        self._lines: list[str] = []

    def write(self) -> Path:
        """Write the file with its notes."""
        assert self._flat.count("ENDSEC;END-ISO-10303-21;") == 1
        notes = "\n".join(self._lines)
        text = self._flat.replace("ENDSEC;END-ISO-10303-21;", f"\n{notes}\nENDSEC;\nEND-ISO-10303-21;\n")
        self._path.write_text(re.sub(r";(?=#|DATA|ENDSEC|HEADER|FILE)", ";\n", text), encoding="ascii")
        return self._path

    def add(self, entity: str) -> str:
        """Add one entity and return its name."""
        name = f"#{self._next}"
        self._next += 1
        self._lines.append(f"{name} = {entity};")
        return name

    def name_face(self, face: int, name: str) -> None:
        """Give a face its name."""
        old = f"{self._faces[face]} = ADVANCED_FACE(''"
        assert self._flat.count(old) == 1
        self._flat = self._flat.replace(old, old[:-2] + f"'{name}'")

    def aspect(self, *faces: int, name: str = "", kind: str = "SHAPE_ASPECT") -> str:
        """Return a shape aspect that stands for faces."""
        aspect = self.add(f"{kind}('{name}','',{self.shape},.T.)")
        for face in faces:
            self.add(f"GEOMETRIC_ITEM_SPECIFIC_USAGE('','',{aspect},{self.solid},{self._faces[face]})")
        return aspect

    def whole(self, *aspects: str) -> str:
        """Return a shape aspect made of others."""
        whole = self.add(f"COMPOSITE_SHAPE_ASPECT('','',{self.shape},.T.)")
        for each in aspects:
            self.relate(whole, each)
        return whole

    def relate(self, one: str, other: str) -> None:
        """Relate two shape aspects."""
        self.add(f"SHAPE_ASPECT_RELATIONSHIP('',$,{one},{other})")

    def length(self, value: float, name: str = "nominal value", qualifier: str = "") -> str:
        """Return a length in the file's unit."""
        return self._measure("LENGTH", value, self.length_unit, name, qualifier)

    def angle(self, value: float, name: str = "nominal value") -> str:
        """Return an angle in the file's unit (radians)."""
        return self._measure("PLANE_ANGLE", value, self.angle_unit, name, "")

    def _measure(self, kind: str, value: float, unit: str, name: str, qualifier: str) -> str:
        extra = ""
        if qualifier:
            word = self.add(f"TYPE_QUALIFIER('{qualifier}')")
            extra = f"QUALIFIED_REPRESENTATION_ITEM(({word}))"
        return self.add(
            f"({kind}_MEASURE_WITH_UNIT()MEASURE_REPRESENTATION_ITEM()"
            f"MEASURE_WITH_UNIT({kind}_MEASURE({value!r}),{unit}){extra}REPRESENTATION_ITEM('{name}'))"
        )

    def note(self, text: str, name: str = "dimensional note") -> str:
        """Return a text that stands with a dimension's values."""
        return self.add(f"DESCRIPTIVE_REPRESENTATION_ITEM('{name}','{text}')")

    def size(self, aspect: str, kind: str, *items: str) -> str:
        """Return a dimension of one aspect with its values."""
        return self._valued(self.add(f"DIMENSIONAL_SIZE({aspect},'{kind}')"), items)

    def distance(self, one: str, other: str, *items: str, kind: str = "linear distance") -> str:
        """Return a dimension between two aspects with its values."""
        return self._valued(self.add(f"DIMENSIONAL_LOCATION('{kind}',$,{one},{other})"), items)

    def between(self, one: str, other: str, *items: str) -> str:
        """Return an angle between two aspects."""
        return self._valued(self.add(f"ANGULAR_LOCATION('angle',$,{one},{other},.SMALL.)"), items)

    def _valued(self, dimension: str, items: tuple[str, ...]) -> str:
        if items:
            values = self.add(f"SHAPE_DIMENSION_REPRESENTATION('',({','.join(items)}),{self.context})")
            self.add(f"DIMENSIONAL_CHARACTERISTIC_REPRESENTATION({dimension},{values})")
        return dimension

    def plus_minus(self, dimension: str, lower: str, upper: str) -> None:
        """Give a dimension its deviations."""
        bounds = self.add(f"TOLERANCE_VALUE({lower},{upper})")
        self.add(f"PLUS_MINUS_TOLERANCE({bounds},{dimension})")

    def fit(self, dimension: str, letter: str, grade: str, of: str) -> None:
        """Give a dimension its tolerance class."""
        fit = self.add(f"LIMITS_AND_FITS('{letter}','{of}','{grade}','')")
        self.add(f"PLUS_MINUS_TOLERANCE({fit},{dimension})")

    def datum(self, letter: str, *faces: int) -> str:
        """Return a datum taken from faces."""
        datum = self.add(f"DATUM('',$,{self.shape},.F.,'{letter}')")
        self.relate(self.aspect(*faces, name=f"feature {letter}", kind="DATUM_FEATURE"), datum)
        return datum

    def datum_system(self, *compartments: str | tuple[str, ...]) -> str:
        """Return a datum system; a tuple is a common datum."""
        parts = []
        for each in compartments:
            base = each
            if not isinstance(each, str):
                elements = [self.add(f"DATUM_REFERENCE_ELEMENT('',$,{self.shape},.F.,{one},$)") for one in each]
                base = f"COMMON_DATUM_LIST(({','.join(elements)}))"
            parts.append(self.add(f"DATUM_REFERENCE_COMPARTMENT('',$,{self.shape},.F.,{base},$)"))
        return self.add(f"DATUM_SYSTEM('',$,{self.shape},.F.,({','.join(parts)}))")

    def zone(self, tolerance: str, form: str) -> None:
        """Say what form a tolerance's zone has."""
        shape = self.add(f"TOLERANCE_ZONE_FORM('{form}')")
        self.add(f"TOLERANCE_ZONE('',$,{self.shape},.F.,({tolerance}),{shape})")
