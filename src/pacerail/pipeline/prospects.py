"""What captures promise, looked up once and kept with a build, so that none is opened again."""

from __future__ import annotations

from pacerail.extent import Prospect
from pacerail.pipeline.ingredients import Take
from pacerail.pipeline.job import key_of
from pacerail.pipeline.manifest import Manifest


class Prospects:
    """Headers of takes: from a manifest, else from the files themselves."""

    def __init__(self, manifest: Manifest) -> None:
        self._manifest = manifest
        self._found: dict[str, Prospect] = {}

    def __call__(self, take: Take) -> Prospect:
        """What a take promises. Raises InputError when it is no capture."""
        key = key_of(take)
        known = self._found.get(key) or self._manifest.prospect(key)
        if known is None:
            from pacerail.pipeline.measuring import prospect_of

            known = self._found[key] = prospect_of(take.path, take.refresh_hz)
        return known

    def keep(self) -> None:
        """Leave what was looked up to the next build."""
        self._manifest.note_prospects(self._found)
