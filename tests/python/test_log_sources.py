"""A log can come as text of any packing, as a table file, or as columns of any kind: the answer is the same."""

from __future__ import annotations

import gzip
import io
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.feather as feather
import pyarrow.parquet as parquet
import pytest
import xarray as xr

import afterquench as aq

ROWS = [(60.0 * i, min(20.0 + 12.0 * i, 200.0), min(20.0 + 10.0 * i, 200.0)) for i in range(140)]
TEXT = ("elapsed_s,air_degc,part_side_degc\n" + "".join(f"{t:.0f},{a:.1f},{p:.1f}\n" for t, a, p in ROWS)).encode()
FRAME = pd.read_csv(io.BytesIO(TEXT))
WANTED = aq.read_log(TEXT).to_frame()
COLUMNS = {name: FRAME[name].to_numpy() for name in FRAME}


def written(folder: Path, name: str) -> Path:
    path = folder / name
    table = pa.Table.from_pandas(FRAME)
    if name.endswith(".gz"):
        path.write_bytes(gzip.compress(TEXT))
    elif name.endswith(".parquet"):
        parquet.write_table(table, path)
    else:
        feather.write_feather(table, str(path))
    return path


@pytest.mark.parametrize("name", ["log.csv.gz", "log.parquet", "log.feather"])
def test_files(tmp_path: Path, name: str) -> None:
    path = written(tmp_path, name)
    for source in (path, str(path), path.read_bytes(), io.BytesIO(path.read_bytes())):
        pd.testing.assert_frame_equal(aq.read_log(source).to_frame(), WANTED)


@pytest.mark.parametrize(
    "source",
    [
        FRAME,
        pl.from_pandas(FRAME),
        pa.Table.from_pandas(FRAME),
        COLUMNS,
        {name: list(column) for name, column in COLUMNS.items()},
        FRAME.astype({"air_degc": "float32"}),
        FRAME.convert_dtypes(),
        FRAME.astype(str),
        xr.Dataset.from_dataframe(FRAME.set_index("elapsed_s")),
        xr.Dataset(
            {
                "air": ("elapsed", COLUMNS["air_degc"] * 1.8 + 32, {"units": "degF"}),
                "part_side": ("elapsed", COLUMNS["part_side_degc"], {"units": "degC"}),
            },
            coords={"elapsed": ("elapsed", COLUMNS["elapsed_s"] / 60, {"units": "min"})},
        ),
    ],
    ids=["pandas", "polars", "pyarrow", "dict", "lists", "float32", "nullable", "texts", "xarray", "xarray units"],
)
def test_tables(source: object) -> None:
    pd.testing.assert_frame_equal(aq.read_log(source).to_frame(), WANTED, rtol=1e-6)


def test_instants_of_any_table() -> None:
    clock = np.datetime64("2031-01-01T00:00:00") + COLUMNS["elapsed_s"].astype("timedelta64[s]")
    columns = {"when": clock, "air_degc": COLUMNS["air_degc"], "part_side_degc": COLUMNS["part_side_degc"]}
    frame = pd.DataFrame(columns)
    for source in (columns, frame, pl.from_pandas(frame), pa.Table.from_pandas(frame)):
        pd.testing.assert_frame_equal(aq.read_log(source).to_frame(), WANTED)


def test_missing_readings_of_a_nullable_column() -> None:
    frame = FRAME.convert_dtypes()
    frame.loc[3, "air_degc"] = pd.NA
    for source in (frame, pl.from_pandas(frame), pa.Table.from_pandas(frame)):
        log = aq.read_log(source)
        assert np.isnan(log.values("air")[3])
        assert "nan" in {repair.kind for repair in log.repairs}


def test_what_is_no_table(tmp_path: Path) -> None:
    cut = written(tmp_path, "log.parquet").read_bytes()[:-20]
    for source, error, says in (
        (cut, aq.DataFileError, "no whole Parquet file"),
        ({"elapsed_s": np.ones((3, 2)), "air_degc": np.ones(3)}, aq.ArgumentTypeError, "one-dimensional"),
        (xr.Dataset({"air": (("x", "y"), np.ones((2, 2)))}), aq.ArgumentTypeError, "2 dimensions"),
        ({}, aq.DataFileError, "temperature column"),
    ):
        with pytest.raises(error, match=says):
            aq.read_log(source)


def test_a_cut_archive_is_read_as_far_as_it_goes() -> None:
    noise = np.random.default_rng(20261126).normal(size=4000)
    text = "elapsed_s,air_degc\n" + "".join(f"{i},{200 + noise[i]:.6f}\n" for i in range(4000))
    whole = gzip.compress(text.encode(), mtime=0)
    log = aq.read_log(whole[: len(whole) // 2])
    assert 100 < len(log.elapsed_s) < 4000
    assert "truncated" in {repair.kind for repair in log.repairs}
    with pytest.raises(aq.DataFileError):
        aq.read_log(whole[:12])


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_the_same_on_any_number_of_threads(threads: int) -> None:
    """Many pieces, with odd rows in each: columns, repairs and their places do not depend on who read what."""
    rows = [f"{i},{200 + i % 7 / 10},{199 + i % 5 / 10}\n" for i in range(300_000)]
    for at in range(5_000, 300_000, 50_000):
        rows[at] = f"{at},812.0,199.0\n"
        rows[at + 10] = f"{at + 10},OPEN,199.0\n"
        rows[at + 20] = "no row\n"
    text = ("elapsed_s,air_degc,part_side_degc\n" + "".join(rows)).encode()
    first = aq.read_log(text)
    (spikes,) = [repair for repair in first.repairs if repair.kind == "spike"]
    # Each row before that is no data moves the count by one.
    assert spikes.rows == [at - index for index, at in enumerate(range(5_000, 300_000, 50_000))]
    before = aq.threads()
    try:
        aq.set_threads(threads)
        again = aq.read_log(text)
    finally:
        aq.set_threads(before)
    assert again.to_frame().equals(first.to_frame())
    assert again.repairs == first.repairs
