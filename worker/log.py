"""The log: lines for people, or one JSON object a line for programs; either carries the job where there is one."""

import datetime
import json
import logging
from collections.abc import MutableMapping
from typing import Any, Final, Literal

from worker.ledger import Entry

Form = Literal["text", "json"]
_TEXT: Final = "%(asctime)s %(levelname)s %(name)s: %(message)s"


class JsonLines(logging.Formatter):
    """One object a line: time (UTC), level, name, message, job, file, error."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        moment = datetime.datetime.fromtimestamp(record.created, datetime.UTC)
        line = {
            "time": moment.isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "name": record.name,
            "message": record.getMessage(),
        }
        line |= {name: getattr(record, name) for name in ("job", "file") if hasattr(record, name)}
        if record.exc_info:
            line["error"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False)


class JobLog(logging.LoggerAdapter[logging.Logger]):
    """A log whose lines say which job they are about."""

    def __init__(self, logger: logging.Logger, entry: Entry) -> None:
        super().__init__(logger, {"job": entry.id, "file": entry.file_name})

    def process(self, msg: Any, kwargs: MutableMapping[str, Any]) -> tuple[Any, MutableMapping[str, Any]]:
        """Put the job before the message, and into the record."""
        return f"job {(self.extra or {})['job']}: {msg}", {**kwargs, "extra": self.extra}


def set_up(form: Form) -> None:
    """Send what is logged to stderr in one of the forms."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines() if form == "json" else logging.Formatter(_TEXT))
    logging.basicConfig(level=logging.INFO, handlers=[handler], force=True)
