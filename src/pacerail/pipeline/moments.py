"""From a capture to its candidate moments, as text, as JSON, and as a sheet of pictures."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from pathlib import Path

from pacerail.align.thumbnail import active_area
from pacerail.capture.contacts import rgb_of_refreshes
from pacerail.capture.glimpses import glimpses
from pacerail.capture.open import Capture, open_capture
from pacerail.capture.reader import pictures
from pacerail.capture.sound import SAMPLE_RATE_HZ, sound_blocks
from pacerail.draw.contact_sheet import AROUND, Group, lay_contact_sheet, picture_width
from pacerail.draw.page import check_format, write_drawing
from pacerail.draw.style import Style
from pacerail.errors import UsageError
from pacerail.files import atomic_output, check_writable
from pacerail.moments.find import picture_moments, sound_moments
from pacerail.moments.look import FULL_RANGE, NARROW_RANGE
from pacerail.moments.moment import Moment, in_order
from pacerail.picture import Picture
from pacerail.pipeline.watcher import QUIET, Watcher
from pacerail.record import TimingRecord
from pacerail.region import Region
from pacerail.stats.frames import STILL_LIMIT_S

# Places at which black bars are looked for. (Our choice.)
GLIMPSES = 12
# AVColorRange (libavutil/pixfmt.h): 2 is full. Formats whose names start so are full by definition.
_FULL = 2
_FULL_FORMATS = ("yuvj", "rgb", "bgr", "gbr", "argb", "abgr", "0rgb", "0bgr")
# A sheet of more would be too tall to open. (Our choice.)
MOST_GROUPS = 150


def moments_of(
    path: Path,
    record: TimingRecord,
    *,
    still_limit_s: float = STILL_LIMIT_S,
    watcher: Watcher = QUIET,
) -> list[Moment]:
    """Every candidate moment of a capture, in order of time.

    record : of that capture; it says where the picture is cut and where it stands still.
    """
    refresh_hz, refreshes = record.refresh_hz, record.refreshes
    for sentence in record.unknown:
        watcher.notice(sentence)
    bars = active_area(glimpses(path, GLIMPSES))
    area = Region(bars.left, bars.top, bars.right - bars.left, bars.bottom - bars.top)
    with _opened(path, record) as capture:
        with watcher.task(f"looking at {path.name}", refreshes) as advance:
            found = picture_moments(
                _counted(pictures(capture), advance),
                refresh_hz,
                area=area,
                codes=_codes(capture),
                cuts=() if record.cut_refresh is None else record.cut_refresh.tolist(),
                verdict=record.verdict,
                uncertain=record.uncertain,
                still_limit_s=still_limit_s,
            )
        first_s = int(record.pts[0]) * record.time_base
        has_sound = capture.info.has_audio
    if has_sound:
        blocks = ((float(block.start_s - first_s), block.samples) for block in sound_blocks(path))
        found += sound_moments(blocks, SAMPLE_RATE_HZ, refresh_hz, refreshes)
    return in_order(found)


def within(moments: Iterable[Moment], first_refresh: int, end_refresh: int) -> list[Moment]:
    """Those in refreshes [first_refresh, end_refresh)."""
    return [each for each in moments if first_refresh <= each.refresh < end_refresh]


def moments_text(moments: Iterable[Moment]) -> str:
    """One line each: time, refresh, kind."""
    return "".join(
        f"{float(each.time_s):12.6f} s  refresh {each.refresh:<7} {each.kind}\n" for each in moments
    )


def moments_json(moments: Iterable[Moment]) -> str:
    """A list of objects with ``time_s``, ``refresh`` and ``kind``."""
    rows = [
        {"time_s": round(float(each.time_s), 9), "refresh": each.refresh, "kind": each.kind.value}
        for each in moments
    ]
    return json.dumps(rows, indent=2) + "\n"


def check_contact_sheet(output: Path, *, overwrite: bool) -> None:
    """Raise UsageError or OutputError if the sheet cannot be written there."""
    check_format(output)
    check_writable(output, overwrite=overwrite)


def write_contact_sheet(
    path: Path,
    record: TimingRecord,
    moments: Sequence[Moment],
    style: Style,
    output: Path,
    *,
    overwrite: bool = False,
) -> None:
    """Draw the pictures around each moment, those of one refresh together.

    Raises UsageError for more moments than a sheet holds.
    """
    check_contact_sheet(output, overwrite=overwrite)
    together = [
        (refresh, list(group)) for refresh, group in groupby(moments, lambda each: each.refresh)
    ]
    if len(together) > MOST_GROUPS:
        raise UsageError(
            f"contact sheet must hold at most {MOST_GROUPS} moments, got {len(together)}; "
            "choose a part with --from and --to"
        )
    wanted = {refresh + step for refresh, _ in together for step in AROUND}
    with _opened(path, record) as capture:
        shown = dict(rgb_of_refreshes(capture, wanted, picture_width()))
    groups = [
        Group(
            float(found[0].time_s),
            refresh,
            tuple(each.kind.value for each in found),
            tuple(shown.get(refresh + step) for step in AROUND),
        )
        for refresh, found in together
    ]
    drawing = lay_contact_sheet(f"Moments of {path.name}", groups, style)
    with atomic_output(output, overwrite=overwrite) as part:
        write_drawing(drawing, part)


def _opened(path: Path, record: TimingRecord) -> Capture:
    return open_capture(path, refresh_hz=record.refresh_hz, allow_interlaced=True)


def _codes(capture: Capture) -> tuple[int, int]:
    """Black and white of a capture in 8 bits; narrow range where it does not say."""
    is_full = int(capture.video.codec_context.color_range) == _FULL
    is_full = is_full or capture.info.pixel_format.startswith(_FULL_FORMATS)
    return FULL_RANGE if is_full else NARROW_RANGE


def _counted(source: Iterable[Picture], advance: Callable[[int], None]) -> Iterator[Picture]:
    for picture in source:
        yield picture
        advance(picture.refresh + 1)
