"""The kind of work of a build that looks for moments at which a clock may start or stop."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from pacerail.draw.style import Style
from pacerail.files import atomic_output
from pacerail.pipeline.ingredients import Stretch
from pacerail.pipeline.watcher import Watcher


@dataclass(frozen=True)
class MomentsWork:
    """The moments of a stretch."""

    stretch: Stretch
    style: Style
    still_limit_s: Fraction

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Draw the pictures around each and list them beside it, as JSON."""
        from pacerail.pipeline.moments import moments_json, moments_of, within, write_contact_sheet

        passage, path = self.stretch.passage_in(folder), self.stretch.take.path
        found = within(
            moments_of(
                path, passage.record, still_limit_s=float(self.still_limit_s), watcher=watcher
            ),
            passage.first_refresh,
            passage.end_refresh,
        )
        write_contact_sheet(path, passage.record, found, self.style, output, overwrite=True)
        with atomic_output(output.with_suffix(".json"), overwrite=True) as part:
            part.write_text(moments_json(found), encoding="utf-8")
