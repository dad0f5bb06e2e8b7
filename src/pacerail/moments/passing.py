"""Cuts found in pictures that pass by on their way to somebody else: one decoding serves both."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from pacerail.moments.cuts import CutFinder
from pacerail.moments.sketch import Sketcher
from pacerail.picture import Picture
from pacerail.region import Region


class PassingCuts:
    """Looks at pictures on their way through `watched`.

    Only the watched region counts, and nothing inside the ignored ones. A change of picture
    size or depth starts anew.
    """

    def __init__(
        self, refresh_hz: Fraction, watch: Region | None = None, ignore: Sequence[Region] = ()
    ) -> None:
        self._refresh_hz, self._watch, self._ignore = refresh_hz, watch, ignore
        self._cuts: list[int] = []

    def watched(self, pictures: Iterable[Picture]) -> Iterator[Picture]:
        """The pictures as they come, each looked at when the next is asked for.

        By then whoever asked has read it, or refused it.
        """
        sketcher, finder = None, CutFinder(self._refresh_hz)
        for picture in pictures:
            yield picture
            if sketcher is None or not sketcher.fits(picture.luma, picture.bit_depth):
                self._cuts += finder.finish()
                sketcher = Sketcher(picture.luma, picture.bit_depth, self._watch, self._ignore)
                finder = CutFinder(self._refresh_hz)
            self._cuts += finder.see(picture.refresh, sketcher.take(picture.luma))
        self._cuts += finder.finish()

    @property
    def refreshes(self) -> NDArray[np.int64]:
        """(k,) refreshes that are the first to show another scene, once all have passed."""
        return np.array(self._cuts, np.int64)
