"""A bar for work on large files."""

from __future__ import annotations

import sys
import time


class Bar:
    """Shows how far work is, on stderr, once it takes longer than a second."""

    _PATIENCE_S = 1.0
    _EVERY_S = 0.1
    _WIDTH = 40

    def __init__(self, what: str) -> None:
        self._what = what
        self._begun = time.monotonic()
        self._shown = 0.0

    def __call__(self, done: int, of: int) -> None:
        now = time.monotonic()
        if now - self._begun < self._PATIENCE_S or now - self._shown < self._EVERY_S:
            return
        self._shown = now
        share = min(done / of, 1.0) if of else 0.0
        filled = round(share * self._WIDTH)
        sys.stderr.write(f"\r{self._what} [{'#' * filled}{'.' * (self._WIDTH - filled)}] {share:4.0%}")
        sys.stderr.flush()

    def close(self) -> None:
        """Takes the bar away."""
        if self._shown:
            sys.stderr.write("\r" + " " * (len(self._what) + self._WIDTH + 9) + "\r")
            sys.stderr.flush()
