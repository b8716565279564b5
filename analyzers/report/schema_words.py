"""The words that the JSON Schema of the report is written in: kinds of values, objects, lists."""

from typing import Any, Final

Schema = dict[str, Any]

TEXT: Final[Schema] = {"type": "string"}
TEXT_OR_NULL: Final[Schema] = {"type": ["string", "null"]}
BOOLEAN: Final[Schema] = {"type": "boolean"}
NUMBER: Final[Schema] = {"type": "number"}
NUMBER_OR_NULL: Final[Schema] = {"type": ["number", "null"]}
LENGTH: Final[Schema] = {"type": "number", "minimum": 0}
LENGTH_OR_NULL: Final[Schema] = {"type": ["number", "null"], "minimum": 0}
POSITIVE: Final[Schema] = {"type": "number", "exclusiveMinimum": 0}
COUNT: Final[Schema] = {"type": "integer", "minimum": 0}
COUNT_OR_NULL: Final[Schema] = {"type": ["integer", "null"], "minimum": 0}
VECTOR: Final[Schema] = {"type": "array", "items": NUMBER, "minItems": 3, "maxItems": 3}
VECTOR_OR_NULL: Final[Schema] = {"anyOf": [VECTOR, {"type": "null"}]}
FACES: Final[Schema] = {"type": "array", "items": COUNT, "uniqueItems": True}
TEXTS: Final[Schema] = {"type": "array", "items": TEXT}


def choice(*words: str) -> Schema:
    """Return one of these words."""
    return {"enum": list(words)}


def record(fields: Schema, optional: tuple[str, ...] = ()) -> Schema:
    """Return an object in which every field but the optional ones must be present."""
    return {"type": "object", "properties": fields, "required": [each for each in fields if each not in optional]}


def many(items: Schema) -> Schema:
    """Return a list of such items."""
    return {"type": "array", "items": items}
