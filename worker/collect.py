"""From what was named on the command line to the list of models: files, folders, archives, lists."""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from analyzers.errors import UnreadableFile
from worker.archive import ARCHIVE_SUFFIXES, STEP_SUFFIXES, is_archive, members, safe_name

SUFFIXES = STEP_SUFFIXES | ARCHIVE_SUFFIXES


@dataclass(frozen=True, slots=True)
class Model:
    """One model to analyse: a file, or a member of an archive."""

    path: Path
    member: str | None = None
    refused: str | None = None  # why it will not be opened; it still gets a report

    @property
    def name(self) -> str:
        """The path as given, with the member."""
        return str(self.path) if self.member is None else f"{self.path}/{self.member}"

    @property
    def stem(self) -> str:
        """What the report's folder is called, if no other model has the name."""
        return safe_name(Path(self.member or self.path.name).stem)


@dataclass(slots=True)
class Collection:
    """All models, each once, in the order given; and what was named but is not there."""

    models: list[Model] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)


def collect(named: Iterable[str]) -> Collection:
    """Return the models behind files and folders.

    A folder is searched with all below it for STEP files and archives, in the order of their names; a file is taken
    whatever its name. What is named twice is analysed once.
    """
    found = Collection()
    seen: set[Path] = set()
    for each in named:
        path = Path(each)
        if path.is_dir():
            files = list(_search(path))
            if not files:
                found.complaints.append(
                    f"{each}: found a folder without STEP files; expected {', '.join(sorted(SUFFIXES))} in it or below"
                )
        elif path.exists():
            files = [path]
        else:
            found.complaints.append(f"{each}: found nothing there; expected a STEP file or a folder")
            continue
        for file in files:
            if (real := file.resolve()) not in seen:
                seen.add(real)
                found.models.extend(_models(file))
    return found


def folders(models: Iterable[Model]) -> list[str]:
    """Return one folder name for each model: its stem, and stem-2, stem-3 where several models share it.

    Examples
    --------
    >>> folders([Model(Path("a/Plate.step")), Model(Path("b/plate.stp")), Model(Path("plate-2.stp"))])
    ['Plate', 'plate-3', 'plate-2']
    """
    stems = [each.stem for each in models]
    taken = {stem.casefold() for stem in stems}  # some file systems take upper and lower case for one
    first: set[str] = set()
    names = []
    for stem in stems:
        name, number = stem, 1
        if stem.casefold() in first:
            while name.casefold() in taken:
                number += 1
                name = f"{stem}-{number}"
        first.add(stem.casefold())
        taken.add(name.casefold())
        names.append(name)
    return names


def _search(folder: Path) -> Iterator[Path]:
    for here, below, files in os.walk(folder):
        below.sort()
        yield from (Path(here, each) for each in sorted(files) if Path(each).suffix.lower() in SUFFIXES)


def _models(file: Path) -> Iterator[Model]:
    """Yield the file itself, or the members of an archive; an archive that cannot be opened is one refused model."""
    if not file.is_file():
        yield Model(file, refused="found something that is no regular file; expected a STEP file")
    elif not is_archive(file):
        yield Model(file)
    else:
        try:
            for member in members(file):
                reason = member.refused and f"{file.name}: member {member.name!r} refused: {member.refused}"
                yield Model(file, member.name, reason)
        except UnreadableFile as error:
            yield Model(file, refused=str(error))
