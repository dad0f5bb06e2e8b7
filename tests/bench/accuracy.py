"""How often the detector is right, clip by clip and by grade, beside simpler ways.

Usage: python -m tests.bench.accuracy [--corpus FOLDER] [--lines N] [--references] [NAME ...]

Makes the corpus first where it does not exist. For every clip: F1, false and missed new
frames; tears that can be seen, tears called, precision and recall; share of rows within
two lines of 1080; mean frame-time error; uncertain verdicts. With --references the F1 of
three general ways on the same pictures: libavfilter's freezedetect at its documented
noise threshold, and the best possible threshold for each clip (an oracle no user has) on
the mean difference of the picture and on its largest block difference. With --lines every
clip is drawn with that many lines: most are small, so that the bench is quick, and in small
pictures slow things move by no more than a sample or two.
"""

from __future__ import annotations

import argparse
import tempfile
from fractions import Fraction
from multiprocessing import Pool
from pathlib import Path

import av
import av.filter
import numpy as np
from numpy.typing import NDArray

from demo.truth import Truth
from pacerail.capture.open import open_capture
from pacerail.capture.reader import pictures
from pacerail.detect.change import ChangeMeter
from pacerail.pipeline.measuring import measure
from tests.bench.corpus import CLIPS, Clip, make_clip
from tests.bench.scorer import Score, score_record, score_verdicts

DEFAULT_CORPUS = Path(tempfile.gettempdir()) / "pacerail-corpus"


def main() -> None:
    """Score every chosen clip, two at a time."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="parts of clip names; all if none")
    parser.add_argument("--corpus", type=Path, default=DEFAULT_CORPUS)
    parser.add_argument("--lines", type=int, metavar="N")
    parser.add_argument("--references", action="store_true")
    options = parser.parse_args()
    clips = [c for c in CLIPS if not options.names or any(n in c.name for n in options.names)]
    if options.lines:
        clips = [clip.of_height(options.lines) for clip in clips]
    jobs = [(clip, options.corpus, options.references) for clip in clips]
    totals: dict[str, Score] = {}
    totals_of_references: dict[str, dict[str, Score]] = {}
    with Pool(2) as pool:
        for clip, (score, references) in zip(clips, pool.imap(_score, jobs), strict=True):
            totals.setdefault(clip.grade, Score()).add(score)
            of_grade = totals_of_references.setdefault(clip.grade, {})
            for name, reference in references.items():
                of_grade.setdefault(name, Score()).add(reference)
            print(f"{clip.name[:58]:58} {_line(score)}{_reference_text(references)}", flush=True)
    print()
    for grade, total in totals.items():
        beside = _reference_text(totals_of_references[grade])
        print(f"{grade[:58]:58} {_line(total)} of {total.refreshes}{beside}")


def _line(score: Score) -> str:
    return (
        f"F1 {score.f1:.5f} false {score.false:3} missed {score.missed:3} | "
        f"tears {score.tears_true:4} called {score.tears_called:4} "
        f"P {score.tear_precision:.3f} R {score.tear_recall:.3f} "
        f"rows {score.rows_within_tolerance:.2f} | "
        f"frame time {score.frame_time_error_ms:.3f} ms | uncertain {score.uncertain:3}"
    )


def _reference_text(references: dict[str, Score]) -> str:
    return "".join(f" | {name} {score.f1:.4f}" for name, score in references.items())


def _score(job: tuple[Clip, Path, bool]) -> tuple[Score, dict[str, Score]]:
    clip, corpus, with_references = job
    made = make_clip(clip, corpus)
    score = score_record(measure(made.path), made.truth)
    return score, _references(made.path, made.truth) if with_references else {}


def _references(path: Path, truth: Truth) -> dict[str, Score]:
    """Scores of the general ways; each is given the truth where it needs a threshold."""
    mean, block = _differences(path, len(truth.verdict))
    return {
        "freezedetect": score_verdicts(_freezedetect(path, truth), truth),
        "mean oracle": _oracle(mean, truth),
        "block oracle": _oracle(block, truth),
    }


def _oracle(differences: NDArray[np.float64], truth: Truth) -> Score:
    """Score of the one threshold that reaches the best F1."""
    thresholds = np.unique(np.quantile(differences, np.linspace(0, 1, 101)))
    scores = [
        score_verdicts(set(np.flatnonzero(differences > threshold).tolist()), truth)
        for threshold in thresholds
    ]
    return max(scores, key=lambda score: score.f1)


def _differences(path: Path, refreshes: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(n,) mean difference of the picture, and mean of its four largest blocks."""
    mean, block = np.zeros(refreshes), np.zeros(refreshes)
    meter: ChangeMeter | None = None
    with open_capture(path) as capture:
        previous = None
        for picture in pictures(capture, gaps_are_held=False):
            if meter is None or previous is None:
                rows, columns = picture.luma.shape
                meter = ChangeMeter(rows, columns, picture.bit_depth)
            elif picture.refresh < refreshes:
                change = meter.measure(previous.luma, picture.luma)
                block[picture.refresh] = change.strongest
                mean[picture.refresh] = np.abs(picture.luma.astype(np.int32) - previous.luma).mean()
            previous = picture
    return mean, block


def _freezedetect(path: Path, truth: Truth) -> set[int]:
    """Refreshes that libavfilter's freezedetect, at its default noise, does not hold.

    With a duration below one refresh it lists every picture with the time it stays; what
    lies beyond its first refresh is held.
    """
    duration_s = float(Fraction(1, 2) / truth.refresh_hz)
    held: set[int] = set()
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        graph = av.filter.Graph()
        source = graph.add_buffer(template=stream)
        freeze = graph.add("freezedetect", f"d={duration_s:.6f}")
        sink = graph.add("buffersink")
        source.link_to(freeze)
        freeze.link_to(sink)
        graph.configure()
        start: float | None = None
        for frame in container.decode(stream):
            graph.vpush(frame)
            metadata = graph.vpull().metadata
            if "lavfi.freezedetect.freeze_start" in metadata:
                start = float(metadata["lavfi.freezedetect.freeze_start"])
            if "lavfi.freezedetect.freeze_end" in metadata and start is not None:
                end = float(metadata["lavfi.freezedetect.freeze_end"])
                held |= _refreshes_after(start, end, truth.refresh_hz)
                start = None
        if start is not None:
            held |= _refreshes_after(
                start, len(truth.verdict) / float(truth.refresh_hz), truth.refresh_hz
            )
    return set(range(1, len(truth.verdict))) - held


def _refreshes_after(start_s: float, end_s: float, refresh_hz: Fraction) -> set[int]:
    """Refreshes of a freeze that repeat its first picture."""
    rate = float(refresh_hz)
    return set(range(round(start_s * rate) + 1, round(end_s * rate)))


if __name__ == "__main__":
    main()
