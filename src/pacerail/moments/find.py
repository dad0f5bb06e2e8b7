"""The one pass over the pictures of a capture, and what is made of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.fades import fades
from pacerail.moments.look import LookTaker
from pacerail.moments.moment import Moment, MomentKind, in_order
from pacerail.moments.silence import SilenceFinder
from pacerail.moments.spans import LevelKeeper, Span, plain_spans
from pacerail.moments.stills import Still, StillFinder
from pacerail.picture import Picture
from pacerail.region import Region

WHOLE = Region(0, 0, 1, 1)
_NO_VERDICT, _NO_DOUBT = np.empty(0, np.uint8), np.empty(0, np.bool_)


def picture_moments(
    pictures: Iterable[Picture],
    refresh_hz: Fraction,
    *,
    area: Region = WHOLE,
    codes: tuple[int, int],
    cuts: Sequence[int] = (),
    verdict: NDArray[np.uint8] = _NO_VERDICT,
    uncertain: NDArray[np.bool_] = _NO_DOUBT,
    still_limit_s: float = 0.5,
) -> list[Moment]:
    """Cuts, black, white, fades and still spans.

    area : the part of the picture inside its black bars. codes : of black and white, 8 bits.
    cuts : refreshes of cuts, as measured. verdict, uncertain : (n,) of every refresh, as
        measured; still spans are told with them.
    An end that the capture does not show is not listed.
    """
    takes, keeper = LookTaker(area, codes), LevelKeeper()
    still_finder = StillFinder(verdict, uncertain, refresh_hz, still_limit_s)
    stills: list[Still] = []
    for picture in pictures:
        look = takes.take(picture)
        keeper.see(look)
        stills += still_finder.see(look)
    levels = keeper.levels()
    stills += still_finder.finish(levels.refreshes)
    ramps = fades(levels, refresh_hz, codes) if levels.refreshes else []
    # The last step of a fade into its plain picture is no cut.
    cuts = [cut for cut in cuts if not any(ramp.start <= cut <= ramp.end for ramp in ramps)]
    transitions = [*cuts, *(end for ramp in ramps for end in (ramp.start, ramp.end))]
    found = [(cut, MomentKind.CUT) for cut in cuts]
    for ramp in ramps:
        found += _ends((ramp.start, ramp.end), MomentKind.FADE_START, MomentKind.FADE_END)
    found += [(span.first, MomentKind.STILL_START) for span in stills]
    found += [(span.end, MomentKind.STILL_END) for span in stills if span.end_is_shown]
    for flags, start, end in (
        (levels.is_black, MomentKind.BLACK_START, MomentKind.BLACK_END),
        (levels.is_white, MomentKind.WHITE_START, MomentKind.WHITE_END),
    ):
        for span in plain_spans(flags, refresh_hz, transitions):
            found += _ends(span, start, end)
    return in_order(
        Moment(refresh / refresh_hz, refresh, kind)
        for refresh, kind in found
        if refresh < levels.refreshes
    )


def sound_moments(
    blocks: Iterable[tuple[float, NDArray[np.float32]]],
    sample_rate_hz: int,
    refresh_hz: Fraction,
    refreshes: int,
) -> list[Moment]:
    """Starts and ends of sound. blocks : (seconds from the first picture, samples)."""
    finder = SilenceFinder(sample_rate_hz)
    duration_s = float(refreshes / refresh_hz)

    def heard() -> Iterator[tuple[float, bool]]:
        for start_s, samples in blocks:
            yield from finder.hear(start_s, samples)
        yield from finder.finish(duration_s)

    return [
        Moment(
            (exact := Fraction(round(time_s * sample_rate_hz), sample_rate_hz)),
            int(exact * refresh_hz),
            MomentKind.SOUND_START if starts else MomentKind.SOUND_END,
        )
        for time_s, starts in heard()
        if time_s < duration_s
    ]


def _ends(span: Span, start: MomentKind, end: MomentKind) -> list[tuple[int, MomentKind]]:
    return [(span[0], start), (span[1], end)]
