"""The overview page of a batch, beside the folders of its reports."""

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from analyzers.report.as_overview import Entry, to_overview
from worker.store import DOCUMENT, PAGE, THUMBNAIL, read_document, write_whole

OVERVIEW: Final = "index.html"


def write_overview(out: Path, folders: Iterable[Path]) -> Path:
    """Write index.html into `out` over the reports in its folders; return its path."""

    def there(path: Path) -> str | None:
        return path.relative_to(out).as_posix() if path.is_file() else None

    entries = [
        Entry(read_document(folder / DOCUMENT), there(folder / PAGE), there(folder / THUMBNAIL)) for folder in folders
    ]
    target = out / OVERVIEW
    write_whole(target, to_overview(entries, out.name or "reports"))
    return target
