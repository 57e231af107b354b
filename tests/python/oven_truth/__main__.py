"""Writes the page of the calibration: `python -m oven_truth PAGE [NUMBER] [SEED]`."""

import sys
from pathlib import Path

from oven_truth.calibration import answers
from oven_truth.report import page

path, given = Path(sys.argv[1]), sys.argv[2:4]
number, seed = (int(word) for word in given + ["2000", "20261131"][len(given) :])
path.write_text(page(answers(seed, number), seed), encoding="utf-8")
