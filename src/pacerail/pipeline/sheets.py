"""From the file of an edit sheet to the plan of a build, and what is there of it already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pacerail.errors import OutputError
from pacerail.pipeline.job import Job
from pacerail.pipeline.manifest import Manifest
from pacerail.pipeline.plan import Plan, plan_build
from pacerail.pipeline.prospects import Prospects
from pacerail.sheet.sheet import load_sheet


@dataclass(frozen=True, eq=False)
class Prepared:
    """A plan, and the state of the folder that it is for."""

    plan: Plan
    manifest: Manifest
    prospects: Prospects
    stale: tuple[str, ...]
    """Outputs of earlier builds that the sheet does not ask for any more."""

    def is_current(self, job: Job) -> bool:
        """True when a job need not be done."""
        return self.manifest.is_current(job.outputs, job.key)


def prepare(
    path: Path, names: Sequence[str] = (), *, draft: bool = False, folder: Path | None = None
) -> Prepared:
    """Read a sheet and plan what is to be made of it; nothing is written.

    names : segments; all if there are none. folder : in place of the one in the sheet.
    Raises InputError or UsageError for whatever is wrong with sheet or request, OutputError
    for a folder that is none.
    """
    sheet = load_sheet(path)
    folder = folder or sheet.folder / sheet.output
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"output must be a folder, got the file {folder}; name another")
    manifest = Manifest(folder)
    prospects = Prospects(manifest)
    plan = plan_build(sheet, names, prospects, draft=draft, folder=folder)
    stale = () if names else manifest.stale(plan.outputs, draft=draft)
    return Prepared(plan, manifest, prospects, tuple(stale))
