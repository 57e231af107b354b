"""Lists that can also be read as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from .errors import ArgumentTypeError

if TYPE_CHECKING:
    import pandas as pd


_Item = TypeVar("_Item")


class Rows(list[_Item]):
    """A list whose items have a row each: dicts, or objects with `as_dict()`."""

    def to_frame(self) -> pd.DataFrame:
        """The list as a pandas DataFrame, one row an item."""
        try:
            import pandas as pd
        except ImportError:
            hint = 'Install it with pip install "afterquench[frames]"'
            raise ArgumentTypeError(
                f"to_frame: pandas is not installed. {hint}",
                function="to_frame",
                argument="pandas",
                why="pandas is not installed",
                hint=hint,
            ) from None
        rows: list[Any] = list(self)
        return pd.DataFrame([row.as_dict() if hasattr(row, "as_dict") else row for row in rows])
