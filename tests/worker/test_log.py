"""Log lines for programs."""

import json
import logging
import sys

from tests.worker.test_ledger import request
from worker.ledger import Ledger
from worker.log import JobLog, JsonLines


def test_a_line_is_an_object_with_the_job(database: str) -> None:
    """Line breaks and control characters in names stay within their value."""
    ledger = Ledger(database)
    entry = ledger.submit(request("a\n{}\x1b[31m"))
    ledger.close()
    records: list[logging.LogRecord] = []
    logger = logging.Logger("test")
    logger.handle = records.append  # type: ignore[method-assign,assignment]  # what a handler would get
    try:
        raise OSError("no share")
    except OSError:
        JobLog(logger, entry).warning("waits anew: %s", 7, exc_info=sys.exc_info())
    (record,) = records
    text = JsonLines().format(record)
    assert "\n" not in text
    line = json.loads(text)
    assert (line["job"], line["file"], line["level"]) == (entry.id, entry.file_name, "warning")
    assert line["message"] == f"job {entry.id}: waits anew: 7"
    assert "no share" in line["error"]
