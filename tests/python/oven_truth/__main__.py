"""Writes the page of the calibration: `python -m oven_truth PAGE [NUMBER] [SEED]`."""

import sys
from pathlib import Path

from oven_truth.calibration import answers
from oven_truth.report import page

path, number, seed = Path(sys.argv[1]), *(int(word) for word in (*sys.argv[2:4], "2000", "1")[:2])
path.write_text(page(answers(seed, number), seed), encoding="utf-8")
