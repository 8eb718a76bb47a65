"""Lenient parsing: going on past an error, so that all errors of a file come at once.

A file with errors is parsed twice: strictly, for errors of single values, and leniently, for rules between
values. In the lenient pass a wrong value becomes `INVALID`; a rule that touches it stops and says nothing.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import wraps
from typing import Any, Final, NoReturn, ParamSpec, TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
    model_validator,
)
from pydantic_core import PydanticCustomError

from holdtimer.text import nearest


class InvalidValueError(Exception):
    """A rule touched a value that is wrong in itself."""


class _Invalid:
    """Stands for a wrong value; whatever asks it anything gets `InvalidValueError`."""

    def _refuse(self, *_: object) -> NoReturn:
        raise InvalidValueError

    __getattr__ = __eq__ = __hash__ = __bool__ = __len__ = __iter__ = __contains__ = __getitem__ = _refuse
    __lt__ = __le__ = __gt__ = __ge__ = __str__ = __repr__ = _refuse


INVALID: Final[Any] = _Invalid()
LENIENT: Final = "lenient"  # the validation context of the lenient pass
_P = ParamSpec("_P")
_Found = TypeVar("_Found")
_MOST_ENTRIES: Final = 1000  # more than any list or table may hold
_MISSPELT: Final = 100  # unknown keys looked at in one table


def _allow_invalid(value: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
    """Validate a value; in the lenient pass a wrong one becomes `INVALID`."""
    overlong = isinstance(value, list | dict) and len(value) > _MOST_ENTRIES
    if info.context == LENIENT and overlong:
        return INVALID
    if overlong:  # refused unread: the errors of half a million entries would fill the memory
        raise PydanticCustomError("far_too_long", "too many entries")
    try:
        return handler(value)
    except ValidationError:
        if info.context != LENIENT:
            raise
        return INVALID


MayBeInvalid = WrapValidator(_allow_invalid)  # for the items of lists and tables; fields have it already


class Table(BaseModel):
    """A table of a program file: unknown keys and wrong types are errors; it is never changed."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _only_known(cls, data: Any, info: ValidationInfo) -> Any:
        if info.context != LENIENT or not isinstance(data, Mapping):
            return data
        fields = cls.model_fields
        unknown = [str(key) for key in data if key not in fields][:_MISSPELT]
        unsure = {nearest(key, fields) for key in unknown}  # what a misspelt key was meant to be is not known
        unsure |= {name for name, field in fields.items() if field.is_required()}
        return {name: data.get(name, INVALID) for name in fields if name in data or name in unsure}

    @field_validator("*", mode="wrap")
    @classmethod
    def _lenient(cls, value: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
        return _allow_invalid(value, handler, info)


def unless_invalid(rule: Callable[_P, Iterable[_Found]]) -> Callable[_P, Iterator[_Found]]:
    """Make a rule stop and say nothing where it touches a value that is wrong in itself."""

    @wraps(rule)
    def stopping(*args: _P.args, **kwargs: _P.kwargs) -> Iterator[_Found]:
        with suppress(InvalidValueError):
            yield from rule(*args, **kwargs)

    return stopping
