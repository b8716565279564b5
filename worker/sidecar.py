"""A small file beside a dropped model that says what the order says: `plate.step.toml`, `plate.toml`, or .json."""

import datetime
import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from analyzers.errors import SettingsError
from worker.intake import Terms

_SUFFIXES: Final = (".toml", ".json")
_MOST_BYTES: Final = 64_000


class Sidecar(BaseModel):
    """What may be said."""

    model_config = ConfigDict(extra="forbid")

    material: str | None = None
    quantity: Annotated[int, Field(ge=1)] = 1
    repair: bool = False
    priority: int = 0
    due: datetime.date | None = None
    customer: str | None = None


def find_sidecar(model: Path) -> Path | None:
    """Return the file beside a model; None where there is none."""
    names = [model.with_name(f"{model.name}{suffix}") for suffix in _SUFFIXES]
    names += [model.with_suffix(suffix) for suffix in _SUFFIXES]
    return next((each for each in names if each.is_file()), None)


def read_sidecar(path: Path, terms: Terms) -> Terms:
    """Return the terms with what the file says.

    Raises
    ------
    SettingsError : one line: the file, what was found, what was expected
    """
    try:
        content = path.read_bytes()
        if len(content) > _MOST_BYTES:
            raise SettingsError(f"{path.name}: found {len(content)} bytes; expected a few lines")
        text = content.decode("utf-8")
        said = Sidecar.model_validate(json.loads(text) if path.suffix == ".json" else tomllib.loads(text))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(each) for each in first["loc"]) or "the file"
        raise SettingsError(
            f"{path.name}: {where}: {first['msg']}; expected {', '.join(Sidecar.model_fields)}"
        ) from error
    except (OSError, ValueError, RecursionError) as error:
        raise SettingsError(f"{path.name}: {error}; expected {path.suffix[1:].upper()} text") from error
    due = said.due.isoformat() if said.due else None
    return replace(
        terms,
        material=said.material,
        quantity=said.quantity,
        repair=said.repair,
        priority=said.priority,
        due=due,
        customer=said.customer,
    )
