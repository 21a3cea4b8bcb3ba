"""Stands in for what a worker does: some names of files end its process, as want of memory would."""

from __future__ import annotations

import os
import signal
from collections.abc import Sequence
from pathlib import Path

from bmslint.gate import worker


def judge_chunk(task: worker.Task, files: Sequence[str]) -> bytes:
    """Judge a chunk, unless a file of it ends the process: every time, or the first time only."""
    for file in files:
        once = Path(file).with_suffix(".once")
        if "deadly-always" in file or ("deadly-once" in file and not once.exists()):
            once.touch()
            os.kill(os.getpid(), signal.SIGKILL)
    return worker.judge_chunk(task, files)


def judge_chunk_greedily(task: worker.Task, files: Sequence[str]) -> bytes:
    """Judge a chunk in which one file needs more memory than any machine has."""
    from bmslint.judge import judge as judging

    judge = judging.judge

    def greedy(document, *given, **named):  # type: ignore[no-untyped-def]
        if "greedy" in document.file:
            bytearray(2**62)
        return judge(document, *given, **named)

    judging.judge = greedy
    try:
        return worker.judge_chunk(task, files)
    finally:
        judging.judge = judge


def end() -> None:
    """End the process without a word."""
    os.kill(os.getpid(), signal.SIGKILL)
