"""Calls with anything but plain numbers: ufuncs keep containers what they are, this layer keeps them honest.

A ufunc already broadcasts and returns Series, DataArrays, dask and polars objects as themselves. What it can't do is
count over all elements when it refuses, name the result's unit, or explain inputs that are no numbers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .errors import AfterquenchError, ArgumentTypeError

if TYPE_CHECKING:
    from collections.abc import Callable

    from ._native import Model


def call(
    model: Model,
    arguments: tuple[Any, ...],
    *,
    out_of_range: str,
    out: Any,
    where: Any,
    unit: str,
    long_name: str,
) -> Any:
    """Evaluates a model over array-likes.

    Parameters
    ----------
    model
        The wrapped model.
    arguments
        One array-like an argument of the model.
    out_of_range : {"raise", "nan"}
        The policy.
    out, where
        As of a ufunc; where without out fills the rest with NaN.
    unit, long_name
        Attributes of a DataArray result, never the input's.
    """
    function = model.raising if out_of_range == "raise" else model.giving_nan
    keywords: dict[str, Any] = {}
    if where is not None:
        keywords["where"] = where
        if out is None:
            out = np.full(np.broadcast_shapes(np.shape(where), *map(np.shape, arguments)), np.nan)
    if out is not None:
        keywords["out"] = out
    for name, argument in zip(model.arguments, arguments, strict=True):
        _check_kind(function.__name__, name, argument)
    arguments, masked = _unmasked(arguments)
    arguments = tuple(
        _numbers(function.__name__, name, a) if isinstance(a, list | tuple) else a
        for name, a in zip(model.arguments, arguments, strict=True)
    )
    try:
        if _is_lazy(arguments):
            result = _later(_travelling(model, function, out_of_range), arguments)
        else:
            result = function(*arguments, **keywords)
    except AfterquenchError as error:
        raise _recounted(model, arguments, where, out_of_range, error) from None
    except (TypeError, ValueError, OverflowError) as error:
        explained = _explained(model, function.__name__, arguments, error)
        if explained is None:
            raise
        raise explained from None
    if masked is not None:
        return np.ma.masked_array(result, mask=np.broadcast_to(masked, np.shape(result)))
    return _labelled(result, unit, long_name)


def together(function: str, names: tuple[str, str], first: Any, second: Any) -> tuple[Any, Any, Callable[[Any], Any]]:
    """Two array-likes as flat arrays of one length, and what makes a flat result what they were.

    Series keep their index, and two of them must have the same: rows are never paired by their place alone. Masked
    elements are NaN, and the result is masked there.
    """
    given = (first, second)
    for name, argument in zip(names, given, strict=True):
        _check_kind(function, name, argument)
    series = [argument for argument in given if hasattr(argument, "iloc") and hasattr(argument, "index")]
    if len(series) == 2 and not series[0].index.equals(series[1].index):
        why = "have different indexes"
        raise _refused(function, ", ".join(names), why, "Align them first, or give .to_numpy() to pair them by place")
    bare, masked = _unmasked(given)
    arrays = []
    for name, argument in zip(names, bare, strict=True):
        try:
            dtype = getattr(argument, "dtype", None) or np.asarray(argument).dtype
            if isinstance(dtype, np.dtype) and dtype.kind in "cmMSU":
                raise TypeError(f"its dtype is {dtype}")
            arrays.append(np.asarray(argument, float))
        except (TypeError, ValueError, OverflowError) as error:
            why = f"can't be read as numbers ({error})"
            raise _refused(function, name, why, "Give floats or arrays of floats") from None
    try:
        one, other = np.broadcast_arrays(*arrays)
    except ValueError:
        shapes = ", ".join(str(array.shape) for array in arrays)
        hint = f"Give one {names[1]} for all, or one for each value"
        raise _refused(function, ", ".join(names), f"have the shapes {shapes}, which don't fit", hint) from None

    def as_given(flat: Any) -> Any:
        made = flat.reshape(one.shape)
        if masked is not None:
            return np.ma.masked_array(made, mask=np.broadcast_to(masked, one.shape))
        for argument in given:
            if np.shape(argument) != one.shape:
                continue
            if hasattr(argument, "iloc") and hasattr(argument, "index") and one.ndim == 1:
                return type(argument)(made, index=argument.index)
            if hasattr(argument, "dims") and hasattr(argument, "coords"):
                labelled = argument.copy(data=made)
                labelled.attrs, labelled.name = {}, None
                return labelled
        return made

    return np.ascontiguousarray(one).ravel(), np.ascontiguousarray(other).ravel(), as_given


def _unmasked(arguments: tuple[Any, ...]) -> tuple[tuple[Any, ...], Any]:
    """Masked elements as NaN, and where they are: a masked value is no value, so it can't be out of range."""
    masks = [np.ma.getmaskarray(argument) for argument in arguments if isinstance(argument, np.ma.MaskedArray)]
    if not masks:
        return arguments, None
    bare = tuple(
        np.ma.filled(argument.astype(float), np.nan) if isinstance(argument, np.ma.MaskedArray) else argument
        for argument in arguments
    )
    masked = masks[0]
    for mask in masks[1:]:
        masked = masked | mask
    return bare, masked


class _Named:
    """A public function by its name: what dask can send to another process, where a ufunc of ours can't go."""

    def __init__(self, name: str, arguments: tuple[str, ...], out_of_range: str) -> None:
        self.name, self.arguments, self.out_of_range = name, arguments, out_of_range

    def __call__(self, *blocks: Any) -> Any:
        import afterquench

        function = getattr(afterquench, self.name)
        return function(**dict(zip(self.arguments, blocks, strict=True)), out_of_range=self.out_of_range)


def _travelling(model: Model, function: Any, out_of_range: str) -> Any:
    """The function in a form that pickles, where it is a public one with the model's own arguments."""
    import inspect

    import afterquench

    public = getattr(afterquench, function.__name__, None)
    if public is None or not set(model.arguments) <= set(inspect.signature(public).parameters):
        return function
    required = [p.name for p in inspect.signature(public).parameters.values() if p.default is p.empty]
    return (
        _Named(function.__name__, model.arguments, out_of_range) if set(required) <= set(model.arguments) else function
    )


def _check_kind(function: str, name: str, argument: Any) -> None:
    """Refuses quantities that carry a unit or an uncertainty of their own, and says what to do."""
    if hasattr(argument, "magnitude") and hasattr(argument, "units"):
        hint = f'Convert it at the call: {name}=quantity.m_as("degC" or "hour" or "mm", as the name says)'
        why = "carries a unit of its own"
    elif hasattr(argument, "nominal_value") and hasattr(argument, "std_dev"):
        hint = f"Call {function}_estimate, or pass {name}.nominal_value"
        why = "carries an uncertainty of its own"
    elif (stated := _stated_unit(argument)) is not None and not _is_expected(name, stated):
        hint = f"Convert the values and set attrs['units'], or drop the attribute: {name} says the unit that is read"
        why = f"says in its attributes that it is in {stated!r}"
    else:
        return
    raise _refused(function, name, why, hint)


# Units that an attribute may name, by the ending of the argument that is read in them. A text that is none of these is
# no unit known here, and says nothing.
_UNITS = {
    "_c": {"degc", "°c", "c", "celsius", "degree_celsius", "degrees_celsius", "deg_c"},
    "_h": {"h", "hr", "hrs", "hour", "hours"},
    "_mm": {"mm", "millimetre", "millimeter"},
    "_percent": {"%", "percent", "wt%", "wt.%"},
    "others": {"degf", "°f", "f", "fahrenheit", "k", "kelvin", "s", "second", "seconds", "min", "minute", "minutes"}
    | {"d", "day", "days", "m", "metre", "meter", "inch", "in", "um", "1"},
}


def _stated_unit(argument: Any) -> str | None:
    attributes = getattr(argument, "attrs", None)
    stated = attributes.get("units") if isinstance(attributes, dict) else None
    return stated if isinstance(stated, str) and stated else None


def _is_expected(name: str, stated: str) -> bool:
    """Whether a stated unit is the one the argument's name says; a name without a unit accepts any."""
    spelled = stated.strip().lower()
    expected = next((spellings for ending, spellings in _UNITS.items() if name.endswith(ending)), None)
    return expected is None or spelled in expected or not any(spelled in spellings for spellings in _UNITS.values())


def _refused(function: str, name: str, why: str, hint: str) -> ArgumentTypeError:
    return ArgumentTypeError(f"{function}: {name} {why}. {hint}", function=function, argument=name, why=why, hint=hint)


def _numbers(function: str, name: str, values: Any) -> Any:
    """A list as an array of floats; a ragged one, or one of text, is refused."""
    try:
        return np.asarray(values, float)
    except (TypeError, ValueError, OverflowError) as error:
        hint = "Give rows of one length that hold nothing but numbers"
        raise _refused(function, name, f"is ragged or holds something that is no number ({error})", hint) from None


def _explained(
    model: Model, function: str, arguments: tuple[Any, ...], error: TypeError | ValueError | OverflowError
) -> ArgumentTypeError | None:
    """What NumPy means when a ufunc refuses its inputs, by argument; None where it is something else."""
    if isinstance(error, OverflowError):
        names = ", ".join(name for name, argument in zip(model.arguments, arguments, strict=True) if _is_huge(argument))
        return _refused(function, names, "is too large for any number here", "Give a number of everyday size")
    if "ufunc" in str(error):
        for name, argument in zip(model.arguments, arguments, strict=True):
            dtype = getattr(argument, "dtype", None) or np.asarray(argument).dtype
            if not isinstance(dtype, np.dtype) or dtype.kind not in "fiub":
                return _refused(
                    function, name, f"is of dtype {dtype}, which is no number", "Give floats or arrays of floats"
                )
    if "broadcast" in str(error):
        names = ", ".join(model.arguments)
        shapes = ", ".join(str(np.shape(argument)) for argument in arguments)
        return _refused(
            function, names, f"have the shapes {shapes}, which don't fit", "Give equal shapes, or ones that broadcast"
        )
    return None


def _is_huge(argument: Any) -> bool:
    try:
        np.asarray(argument, float)
    except OverflowError:
        return True
    return False


def _recounted(
    model: Model, arguments: tuple[Any, ...], where: Any, out_of_range: str, error: AfterquenchError
) -> AfterquenchError:
    """The same error with its count over all elements: a ufunc only sees one buffer or block at a time."""
    try:
        arrays = list(np.broadcast_arrays(*[np.asarray(argument, float) for argument in arguments]))
        if where is not None:
            arrays = [np.where(where, array, np.nan) for array in arrays]
        model.refuse([array.ravel().tolist() for array in arrays], out_of_range == "nan")
    except AfterquenchError as counted:
        return counted
    except (TypeError, ValueError, OverflowError):
        return error
    return error


def _is_lazy(arguments: tuple[Any, ...]) -> bool:
    """Whether a dask array is among them, bare or inside a DataArray."""
    return any(
        hasattr(argument, "__dask_graph__") and hasattr(argument, "chunks") and argument.__dask_graph__() is not None
        for argument in arguments
    )


def _later(function: Any, arguments: tuple[Any, ...]) -> Any:
    """The call as a dask graph. Left to itself dask would try the ufunc on made-up numbers to learn the dtype."""
    if any(hasattr(argument, "dims") for argument in arguments):
        import xarray as xr

        return xr.apply_ufunc(function, *arguments, dask="parallelized", output_dtypes=[np.float64])
    from dask.array.core import elemwise

    return elemwise(function, *arguments, dtype=np.float64)  # type: ignore[no-untyped-call]


def _labelled(result: Any, unit: str, long_name: str) -> Any:
    if hasattr(result, "attrs") and hasattr(result, "dims"):
        labelled = result.copy(deep=False)
        labelled.attrs = {"units": unit, "long_name": long_name}
        labelled.name = None
        return labelled
    if hasattr(result, "iloc") and hasattr(result, "name"):
        return result.rename(None)
    return float(result) if isinstance(result, np.floating) else result
