"""From records to facts for a narration, on one platform or on two beside each other."""

from __future__ import annotations

from collections.abc import Sequence

from pacerail.export.account_text import (
    Account,
    Comparison,
    SegmentAccount,
    accounts_as_json,
    accounts_as_markdown,
    accounts_as_text,
)
from pacerail.pipeline.passage import Episode, Passage
from pacerail.pipeline.tracks import SeriesSettings
from pacerail.stats.comparison import compare_segments
from pacerail.stats.narration.compare import narrate_comparison
from pacerail.stats.narration.narrate import narrate
from pacerail.stats.summary import segment_figures

_WRITERS = {
    "text": accounts_as_text,
    "markdown": accounts_as_markdown,
    "json": accounts_as_json,
}


def facts_text(episodes: Sequence[Episode], facts_format: str, settings: SeriesSettings) -> str:
    """Facts on segments, one or more, as ``text``, ``markdown`` or ``json``.

    Raises UsageError for a target that makes no sense.
    """
    return _WRITERS[facts_format]([account_of(episode, settings) for episode in episodes])


def account_of(episode: Episode, settings: SeriesSettings) -> SegmentAccount:
    """What is told of a segment: of each platform, and of two what sets them apart."""
    match episode.passages:
        case (passage,):
            return SegmentAccount(episode.name, (_account(passage, settings),), None)
        case (one, other):
            segments = one.segment(settings), other.segment(settings)
            comparison = Comparison(
                narrate_comparison(*segments, one.label, other.label), compare_segments(*segments)
            )
            accounts = _account(one, settings), _account(other, settings)
            return SegmentAccount(episode.name, accounts, comparison)


def _account(passage: Passage, settings: SeriesSettings) -> Account:
    segment = passage.segment(settings)
    facts = narrate(passage.record, segment.series, passage.first_refresh, passage.end_refresh)
    return Account(passage.label, facts, segment_figures(segment))
