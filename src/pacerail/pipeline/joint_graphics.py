"""What is drawn on a clip of two platforms, and with it where the pictures go.

Graphics come first: pictures take the room that they leave.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from pacerail.compose.joint import Clip, Moment
from pacerail.compose.placing import arrange, cells, tab
from pacerail.compose.rate import RateChange
from pacerail.compose.rectangle import PictureShape, Rectangle, fits
from pacerail.draw.overlay import Overlay
from pacerail.draw.plaque import Lines, draw_plaque
from pacerail.draw.track import Track
from pacerail.patch import Image, Patch, whole
from pacerail.pipeline.joint_look import JointLook

ENDED = "ended"
"""Written on the last picture of a capture that is held."""


@dataclass(frozen=True, eq=False)
class TimedTrack:
    """A platform's track on the clock of a clip."""

    track: Track
    first_refresh: int
    """Shown by the first picture."""
    stop_refresh: int
    """First that is not shown any more; the platform stands still from there."""
    rate_change: RateChange

    @property
    def start_s(self) -> float:
        """Start of the first refresh shown, on the track's own clock."""
        return float(self.first_refresh / self.rate_change.refresh_hz)

    def refresh(self, picture: int) -> int:
        """Refresh that a picture shows, or would show if there were no end."""
        return self.first_refresh + self.rate_change.refresh_shown(picture)

    def end_refresh(self, clip: Clip) -> int:
        """First refresh that the clip does not show any more."""
        return min(self.refresh(clip.pictures - 1) + 1, self.stop_refresh)


class JointGraphics:
    """Overlays, names, lines and notices of a clip.

    Raises UsageError when the overlays do not fit the canvas.
    """

    def __init__(
        self,
        look: JointLook,
        shapes: Sequence[PictureShape],
        tracks: Sequence[TimedTrack],
        clip: Clip,
    ) -> None:
        self._clip = clip
        parts = cells(look.layout, look.canvas, shapes)
        shown = [[track] for track in tracks] if len(parts) == 2 else [list(tracks)]
        self._overlays = [
            (
                group[0],
                Overlay(
                    [each.track for each in group],
                    look.style,
                    *look.canvas,
                    first_refresh=group[0].first_refresh,
                    end_refresh=group[0].end_refresh(clip),
                    lead_s=group[-1].start_s - group[0].start_s,
                    room=cell.room,
                ),
            )
            for group, cell in zip(shown, parts, strict=True)
        ]
        rails = [Rectangle(*overlay.rectangle) for _, overlay in self._overlays]
        self.arrangement = arrange(
            look.layout, look.canvas, shapes, rails, scales=look.scales, divider=look.line
        )
        """Where the pictures go."""
        rails = [
            rail._replace(x=rail.x + right, y=rail.y + down)
            for rail, (right, down) in zip(rails, self.arrangement.rail_moves, strict=True)
        ]
        self._lines = Lines(look.style, *look.canvas)
        self._ended = draw_plaque(ENDED, look.style, *look.canvas, room=look.canvas[0])
        # Where both share the graphics, nothing else says which platform a picture is of.
        self._names = self._named(look, tracks, rails) if len(parts) == 1 else []

    def patches(self, moment: Moment) -> list[Patch]:
        """What to paint, in order, on the picture of a moment."""
        return [
            *self._divider(moment.picture),
            *self._rails(moment.picture),
            *self._names,
            *self._notices(moment),
        ]

    def _rails(self, picture: int) -> Iterator[Patch]:
        moves = self.arrangement.rail_moves
        for (track, overlay), (right, down) in zip(self._overlays, moves, strict=True):
            refresh = track.refresh(picture)
            if len(self._overlays) == 2:
                # Graphics of its own stand still with the picture.
                refresh = min(refresh, track.stop_refresh - 1)
            for patch in overlay.patches(refresh):
                yield replace(patch, x=patch.x + right, y=patch.y + down)

    def _divider(self, picture: int) -> list[Patch]:
        moment_s = self._clip.moment_s(picture)
        column = self.arrangement.divider_column(moment_s)
        if column is None:
            return []
        targets = [placement.target for placement in self.arrangement.placed]
        top, bottom = min(each.y for each in targets), max(each.bottom for each in targets)
        x = column - self._lines.thickness // 4 * 2
        return self._lines.upright(x, top, bottom - top)

    def _notices(self, moment: Moment) -> list[Patch]:
        """On each picture that is held, where it is seen."""
        shown = self.arrangement.shown(self._clip.moment_s(moment.picture))
        return [
            self._centred(self._ended, placement.target)
            for side, placement in shown
            if moment.has_ended[side] and fits(_size(self._ended), placement.target)
        ]

    def _centred(self, image: Image, target: Rectangle) -> Patch:
        width, height = _size(image)
        x, y = (target.width - width) // 4 * 2, (target.height - height) // 4 * 2
        return whole(image, target.x + x, target.y + y)

    def _named(
        self, look: JointLook, tracks: Sequence[TimedTrack], rails: Sequence[Rectangle]
    ) -> list[Patch]:
        """The name of each platform on its picture, the small one with a border."""
        first, second = self.arrangement.placements
        patches: list[Patch] = []
        taken = list(rails)
        if first is not None and second is not None:
            inset = second.target
            patches += self._lines.border(*inset)
            name = draw_plaque(tracks[1].track.label, look.style, *look.canvas, room=inset.width)
            patches.append(whole(name, inset.x, inset.bottom - _size(name)[1]))
            taken.append(inset)
        main = self.arrangement.placed[0].target
        name = draw_plaque(
            f"Picture: {tracks[0 if first else 1].track.label}",
            look.style,
            *look.canvas,
            room=look.canvas[0] // 2,
        )
        spot = tab(_size(name), look.canvas, main, taken)
        return [*patches, whole(name, spot.x, spot.y)]


def _size(image: Image) -> tuple[int, int]:
    rows, columns, _ = image.rgba.shape
    return columns, rows
