"""What a child is asked to do, as JSON values: paths and names, never objects."""

from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Any, Self

from analyzers.errors import SettingsError
from analyzers.settings import Settings, load_settings
from worker.collect import Model, folders


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One model, the settings to judge it by, and the folder for its report. Paths are absolute."""

    name: str  # as shown to people
    path: str
    member: str | None = None  # of the archive at `path`
    file_name: str | None = None  # what the file was called where it came from; None = as it is called now
    refused: str | None = None  # why the model will not be opened
    out: str
    html: bool = True
    exports: tuple[str, ...] = ()  # kinds of worker.export_kinds
    shop: str | None = None
    policy: str | None = None
    material: str | None = None
    quantity: int = 1
    repair: bool = False
    facts: str | None = None  # where what was measured is kept, or will be; None = it is not
    digest: str  # of the settings; what is read in the child must be what was read when the job was made

    def to_json(self) -> dict[str, Any]:
        """Return the job as JSON values."""
        return asdict(self)

    @classmethod
    def from_json(cls, values: dict[str, Any]) -> Self:
        """Return the job again."""
        return cls(**{**values, "exports": tuple(values.get("exports", ()))})

    def settings(self) -> Settings:
        """Return the settings to judge by.

        Raises
        ------
        SettingsError : a file is wrong, or is another than it was when the job was made
        """
        settings = self._read()
        if settings.digest != self.digest:
            raise SettingsError(f"{self.shop or self.policy}: the settings were changed while the batch was running")
        return settings

    def _read(self) -> Settings:
        if self.shop is None and self.policy is None:
            return _built_in(self.material, self.quantity, self.repair)
        shop, policy = (Path(each) if each else None for each in (self.shop, self.policy))
        return load_settings(shop, policy, self.material, self.quantity, repair=self.repair)


@cache
def _built_in(material: str | None, quantity: int, repair: bool) -> Settings:
    """Return the settings without any file; a child finds there what the process that forked it had read."""
    return load_settings(material=material, quantity=quantity, repair=repair)


def make_jobs(
    models: list[Model],
    out: Path,
    settings: Settings,
    *,
    shop: Path | None = None,
    policy: Path | None = None,
    material: str | None = None,
    html: bool = True,
    exports: tuple[str, ...] = (),
) -> list[Job]:
    """Return one job for each model, each with a report folder of its own below `out`."""
    return [
        Job(
            name=model.name,
            path=str(model.path.absolute()),
            member=model.member,
            refused=model.refused,
            out=str(out.absolute() / folder),
            html=html,
            exports=exports,
            shop=str(shop.absolute()) if shop else None,
            policy=str(policy.absolute()) if policy else None,
            material=material,
            quantity=settings.quantity,
            repair=settings.repair,
            digest=settings.digest,
        )
        for model, folder in zip(models, folders(models), strict=True)
    ]
