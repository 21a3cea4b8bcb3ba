"""The building blocks of the models: fields, numbers by unit with physical bounds, names.

Bounds are physical and wide: what is absurd but possible is read, and is for the rules to judge.
"""

from typing import Annotated, Any, Literal, TypeAlias, TypeVar

from pydantic import BaseModel, ConfigDict, Field

T = TypeVar("T")


class Section(BaseModel):
    """A mapping of the settings file."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


def field(description: str, example: object, *more_examples: object, alias: str | None = None) -> Any:
    """Declare a key that may be left out.

    The default is never read: data holds only the keys that the file has. It is None and not part
    of the type, so that an empty value in a file is an error.

    Args:
        description: What the key says, in a sentence or two.
        example: A value as it may stand in a file.
        more_examples: Further ones.
        alias: The key itself, where Python reserves it as a word.

    Returns:
        The field.
    """
    return Field(default=None, alias=alias, description=description, examples=[example, *more_examples])


def required(description: str, example: object, *more_examples: object) -> Any:
    """Declare a key that must be there.

    Args:
        description: What the key says, in a sentence or two.
        example: A value as it may stand in a file.
        more_examples: Further ones.

    Returns:
        The field.
    """
    return Field(description=description, examples=[example, *more_examples])


# A value, or the word that the board or the pack truly lacks it.
OrNone: TypeAlias = T | Literal["none"]

Celsius = Annotated[float, Field(ge=-273.15, le=2000)]
Kelvins = Annotated[float, Field(ge=0, le=2000)]
Volts = Annotated[float, Field(ge=0, le=100_000)]
Millivolts = Annotated[float, Field(ge=0, le=1_000_000)]
MillivoltsPerKelvin = Annotated[float, Field(ge=-10_000, le=10_000)]
Amperes = Annotated[float, Field(ge=0, le=1_000_000)]
Milliamperes = Annotated[float, Field(ge=0, le=1_000_000_000)]
AmpereHours = Annotated[float, Field(gt=0, le=1_000_000)]
AmpereSquaredSeconds = Annotated[float, Field(gt=0, le=1e12)]
Watts = Annotated[float, Field(ge=0, le=1_000_000)]
Seconds = Annotated[float, Field(ge=0, le=10_000_000)]
Milliseconds = Annotated[float, Field(ge=0, le=1e10)]
Microseconds = Annotated[float, Field(ge=0, le=1e13)]
Minutes = Annotated[float, Field(ge=0, le=1_000_000)]
Days = Annotated[float, Field(ge=0, le=36_500)]
Millimetres = Annotated[float, Field(gt=0, le=100_000)]
MillimetresOrZero = Annotated[float, Field(ge=0, le=100_000)]
Kilograms = Annotated[float, Field(gt=0, le=100_000)]
Milliohms = Annotated[float, Field(gt=0, le=1_000_000)]
Ohms = Annotated[float, Field(gt=0, le=1e9)]
Percent = Annotated[float, Field(ge=0, le=100)]
Ratio = Annotated[float, Field(gt=0, le=1000)]
ThermalConductivity = Annotated[float, Field(gt=0, le=5000)]
SpecificHeat = Annotated[float, Field(gt=0, le=20_000)]
ContactResistance = Annotated[float, Field(gt=0, le=10)]
Beta = Annotated[float, Field(gt=0, le=20_000)]

Word = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[A-Za-z][A-Za-z0-9_]*$")]
Text = Annotated[str, Field(min_length=1, max_length=200)]

Decision = Literal["lowest", "highest", "mean"]
Face = Literal["ends", "sides", "top", "bottom"]

SensorList = Annotated[list[Word], Field(max_length=1000)]
