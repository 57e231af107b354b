"""The two invented shops of tests/data/scenario_a and scenario_b, as the tests need them."""

from __future__ import annotations

from acceptance import DATA, table

__all__ = ["DATA", "block_readings", "readings", "rows"]


def rows(scenario: str, name: str) -> list[dict[str, str]]:
    """The rows of one file of a scenario, its comment lines left out."""
    return table(f"{scenario}/{name}")


def readings(row: dict[str, str]) -> list[float]:
    """The readings r1, r2 … of a row."""
    return [float(value) for name, value in row.items() if name[0] == "r" and name[1:].isdigit() and value]


def block_readings(scenario: str, block: float) -> list[float]:
    """Every reading on the block of this value, all days together."""
    return [
        value
        for row in rows(scenario, "test_blocks.csv")
        if float(row["block_value"]) == block
        for value in readings(row)
    ]
