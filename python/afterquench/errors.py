"""What can go wrong, as exceptions with fields.

Every class derives from `AfterquenchError` and from the built-in that fits, so that `except ValueError` works too.
All pickle; `str()` names the model, the argument, the value, the bound, whose bound it is, and what to do.
"""

from __future__ import annotations

from typing import Any

__all__ = [
    "AfterquenchError",
    "AfterquenchWarning",
    "ArgumentTypeError",
    "DataFileError",
    "InvalidValueError",
    "MissingArgumentError",
    "NoAnswerError",
    "NotDeterminedError",
    "OutOfRangeError",
    "RefusedError",
    "SeveralAnswersError",
    "UnknownNameError",
]


class AfterquenchWarning(UserWarning):
    """An answer was given, with something about it that must be known."""


class AfterquenchError(Exception):
    """The root of all refusals here; its keyword arguments become attributes."""

    def __init__(self, message: str = "", /, **fields: Any) -> None:
        super().__init__(message)
        self.__dict__.update(fields)

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else ""

    def __reduce__(self) -> tuple[Any, ...]:
        return _rebuilt, (type(self), self.args[0] if self.args else "", dict(self.__dict__))


def _rebuilt(kind: type[AfterquenchError], message: str, fields: dict[str, Any]) -> AfterquenchError:
    return kind(message, **fields)


class OutOfRangeError(AfterquenchError, ValueError):
    """A value outside the range its model or table was published for."""

    model: str
    argument: str
    value: float
    unit: str
    low: float
    high: float
    stated_by: str
    failed: int
    of: int
    hint: str


class InvalidValueError(AfterquenchError, ValueError):
    """A value no policy accepts: infinite, a time that is not positive, below absolute zero."""

    model: str
    argument: str
    value: float
    unit: str
    why: str
    failed: int
    of: int
    hint: str


class MissingArgumentError(AfterquenchError, TypeError):
    """A call that leaves open what it must say."""

    function: str
    argument: str
    why: str
    hint: str


class ArgumentTypeError(AfterquenchError, TypeError):
    """An argument of a kind that can't be used as numbers here."""

    function: str
    argument: str
    why: str
    hint: str


class UnknownNameError(AfterquenchError, KeyError):
    """A name that is not in its list, with the names that look like it."""

    kind: str
    name: str
    close: list[str]
    hint: str


class SeveralAnswersError(AfterquenchError, ValueError):
    """A question with more than one answer, asked as if it had one."""

    model: str
    asked: str
    answers: list[float]
    unit: str
    hint: str


class NoAnswerError(AfterquenchError, ValueError):
    """A question without an answer."""

    model: str
    asked: str
    why: str
    hint: str


class NotDeterminedError(AfterquenchError, ValueError):
    """The data do not settle the question; says what would."""

    what: str
    why: str
    would_determine: str


class RefusedError(AfterquenchError, ValueError):
    """Something the library will not do, with the reason."""

    what: str
    why: str
    instead: str


class DataFileError(AfterquenchError, ValueError):
    """A file that can't be read as what it should be."""

    file: str
    line: int | None
    column: str | None
    why: str
    hint: str
