"""The text beside made-up frames: what was put in, and what a review should say to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.answers.rehearsal.choices import FAULTS, Fault
from planner.answers.rehearsal.frame_maker import MadeUpFrame
from planner.answers.rehearsal.rehearsal import Rehearsal
from planner.answers.shared.shared_rehearsal import SharedRehearsal
from planner.words import counted

__all__ = ["FAULT_WORDS", "rehearsal_text", "size_words"]

FAULT_WORDS: dict[Fault, tuple[str, str]] = {
    "pointing": ("looks beside its panel", "off target"),
    "turned": ("camera set off by 2 degrees or more", "turned"),
    "drift": ("angle drifted beyond the limit", "turned"),
    "clouds": ("hardly a star is seen", "unsolved"),
    "flip": ("upside down, by the mount's flip", "good, but for other faults"),
    "trailed": ("stars are streaks", "unsolved"),
    "missing": ("never came back", "to shoot again"),
    "stack": ("several exposures in one file", "good"),
    "filter": ("wrong name of the filter", "good, another filter"),
}
"""What each fault is, and what a review says to a frame with no other."""


def size_words(rehearsal: Rehearsal) -> str:
    """Say how many frames there are and how large they are."""
    columns, rows = rehearsal.size_px
    frames = counted(len(rehearsal.written), "made-up frame")
    return f"{frames} of {columns} x {rows} pixels, {rehearsal.frames_bytes / 1e6:.1f} MB"


def rehearsal_text(rehearsal: Rehearsal | SharedRehearsal, names: Sequence[Sequence[str]]) -> str:
    """Return the content of rehearsal.txt; `names` are the frames' files of each instrument."""
    lines = [*_head(rehearsal.title)]
    for (instrument, part), own in zip(rehearsal.named, names, strict=True):
        lines += ["", *([instrument, ""] if instrument else []), *_part(part, own)]
    return "\n".join(lines) + "\n"


def _head(title: str) -> Iterator[str]:
    yield f"A rehearsal of {title}, made by the mosaic planner"
    yield ""
    yield "Every frame here is made up, to practise with: nobody has taken it. Its header says so (MADEUP = T)."


def _part(rehearsal: Rehearsal, names: Sequence[str]) -> Iterator[str]:
    columns, rows = rehearsal.size_px
    size = f"{columns} x {rows} pixels, each of {rehearsal.binning} x {rehearsal.binning} of the sensor's"
    yield f"Evenings   {rehearsal.evenings_words}"
    yield f"Exposures  {rehearsal.exposures_words}"
    yield f"Frames     {len(rehearsal.written)} of {size}"
    yield f"Faults     {rehearsal.level}, seed {rehearsal.seed}: the same seed makes the same frames"
    solved = sum(frame.solved for frame in rehearsal.written)
    yield f"Solutions  {rehearsal.solutions}: {solved} headers hold a plate solution"
    yield ""
    yield from _counts(rehearsal)
    yield from _faulty(rehearsal.frames, names)


def _counts(rehearsal: Rehearsal) -> Iterator[str]:
    counts = rehearsal.counts()
    if not counts:
        yield "Nothing was put in: a review should call every frame good."
        return
    yield "What was put in, and what a review should say:"
    for fault in FAULTS:
        if counts[fault]:
            what, verdict = FAULT_WORDS[fault]
            yield f"  {counts[fault]:4}  {fault:8}  {what}: {verdict}"


def _faulty(frames: Sequence[MadeUpFrame], names: Sequence[str]) -> Iterator[str]:
    rows = [(name, frame) for frame, name in zip(frames, names, strict=True) if set(frame.faults) - {"flip"}]
    if not rows:
        return
    width = max(len(name) for name, _ in rows)
    yield ""
    yield "Which frames; those with nothing but a flip are left out here:"
    for name, frame in rows:
        yield f"  {name:{width}}  {', '.join(frame.seen)}"
