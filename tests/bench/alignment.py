"""How near alignment comes to the true offset, and whether it ever finds what is not there.

Usage: python -m tests.bench.alignment [--corpus FOLDER] [CONTENT ...]

Makes the takes first where they do not exist. Every pair of takes of one content is aligned:
error in ms, confidence, drift with its error. Then every pair of takes of different contents,
none of which may match. Sums up the share of pairs within half a refresh of 60 Hz: of all; of
those alike framed, since a zoom through a corridor looks like its crop; and of those that also
are evenly lit, which differ in rate, size, tears, bars and gamma only.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from pathlib import Path

import numpy as np

from pacerail.align.align import Alignment, align
from pacerail.align.signature import Signature
from pacerail.pipeline.alignment import impression_of
from tests.bench.alignment_corpus import FAMILIES, STORY, Take, make_take

DEFAULT_CORPUS = Path(tempfile.gettempdir()) / "pacerail-alignment"
NEAR_S = 1 / 120
"""Half a refresh at 60 Hz."""


@dataclass(frozen=True)
class Outcome:
    """What became of one pair."""

    first: Take
    second: Take
    found: Alignment | None

    @property
    def error_s(self) -> float:
        """Distance from the true offset; infinite where no match was found."""
        if self.found is None:
            return float("inf")
        return self.found.offset_s - float(self.first.start_s - self.second.start_s)

    @property
    def is_cropped(self) -> bool:
        """True where the pictures are laid out differently."""
        return self.first.crop != self.second.crop

    @property
    def is_relit(self) -> bool:
        """True where brightness or contrast differ as well, and coding is coarse with it."""
        return any(take.contrast != 1.0 for take in (self.first, self.second))


def main() -> None:
    """Score every pair."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("contents", nargs="*", help="names of contents; all if none")
    parser.add_argument("--corpus", type=Path, default=DEFAULT_CORPUS)
    options = parser.parse_args()
    families = [
        family
        for family in FAMILIES
        if not options.contents or family[0].content in options.contents
    ]
    with ProcessPoolExecutor(2) as pool:
        signatures = list(pool.map(partial(_signatures, folder=options.corpus), families))
    related = [
        Outcome(a, b, align(signature, other))
        for family, seen in zip(families, signatures, strict=True)
        for (a, signature), (b, other) in combinations(zip(family, seen, strict=True), 2)
    ]
    for outcome in related:
        print(_line(outcome))
    unrelated = [
        Outcome(a, b, align(signature, other))
        for (family, seen), (others, heard) in combinations(
            zip(families, signatures, strict=True), 2
        )
        if _are_unrelated(family[0], others[0])
        for a, signature in zip(family, seen, strict=True)
        for b, other in zip(others, heard, strict=True)
    ]
    print()
    for family in families:
        mine = [each for each in related if each.first in family]
        print(f"{family[0].content:14}{_share(mine)}")
    print(f"{'all':14}{_share(related)}")
    print(f"{'alike framed':14}{_share([each for each in related if not each.is_cropped])}")
    mild = [each for each in related if not each.is_cropped and not each.is_relit]
    print(f"{'evenly lit':14}{_share(mild)}")
    print(f"{'cropped':14}{_share([each for each in related if each.is_cropped])}")
    false = [outcome for outcome in unrelated if outcome.found is not None]
    print(f"false matches: {len(false)} of {len(unrelated)} unrelated pairs")
    for outcome in false:
        print(f"  {outcome.first.name} | {outcome.second.name}")


def _signatures(family: Sequence[Take], folder: Path) -> list[Signature]:
    return [impression_of(make_take(take, folder)).signature for take in family]


def _are_unrelated(first: Take, second: Take) -> bool:
    """The storyboard is made of the shots."""
    return STORY not in (first.content, second.content) or first.content == second.content


def _line(outcome: Outcome) -> str:
    found = outcome.found
    names = f"{outcome.first.name} | {outcome.second.name}"
    if found is None:
        return f"   no match                          {names}"
    drift = "           "
    if found.drift_ppm is not None:
        drift = f"{found.drift_ppm:5.0f}±{found.drift_error_ppm:<5.0f}"
    return f"{outcome.error_s * 1e3:8.2f} ms  {found.confidence:.2f}  {drift} ppm  {names}"


def _share(outcomes: Sequence[Outcome]) -> str:
    errors_s = np.abs([outcome.error_s for outcome in outcomes])
    near = int((errors_s <= NEAR_S).sum())
    return (
        f"{near:3} of {len(errors_s):3} within half a refresh ({near / len(errors_s):.1%}), "
        f"median {np.median(errors_s) * 1e3:.2f} ms, worst {errors_s.max() * 1e3:.2f} ms"
    )


if __name__ == "__main__":
    main()
