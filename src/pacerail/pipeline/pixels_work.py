"""The kind of work of a build that looks at what size pictures were drawn."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pacerail.draw.style import Style
from pacerail.files import atomic_output
from pacerail.pipeline.ingredients import Stretch
from pacerail.pipeline.watcher import Watcher
from pacerail.region import Region


@dataclass(frozen=True)
class PixelsWork:
    """The size at which the pictures of a stretch were drawn."""

    stretch: Stretch
    style: Style
    regions: tuple[Region, ...]

    def make(self, folder: Path, output: Path, watcher: Watcher) -> None:
        """Draw the evidence and write what it says beside it, as JSON."""
        from pacerail.pipeline.graphic import Graphic
        from pacerail.pipeline.pixels import count_pixels, pixel_json, write_evidence

        passage, watch = self.stretch.passage_in(folder), self.stretch.take.watch
        found = count_pixels(
            self.stretch.take.path,
            passage.start_s,
            passage.end_s,
            self.regions or (() if watch is None else (watch,)),
            watcher,
        )
        graphic = Graphic(self.style, self.stretch.label)
        write_evidence(found, graphic, output, overwrite=True)
        with atomic_output(output.with_suffix(".json"), overwrite=True) as part:
            part.write_text(pixel_json(found) + "\n", encoding="utf-8")
