"""Field types of the files: texts with units outside, SI values inside."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainValidator

from trialcut.errors import QuantityError
from trialcut.units import Kind, Quantity, parse, parse_roughness, parse_with_system


def _text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise QuantityError(f"{value!r} is no quantity: write a text with a number and its unit")
    return str(value)


def _value(kind: Kind) -> BeforeValidator:
    return BeforeValidator(lambda value: parse(_text(value), kind))


def _quantity(kind: Kind) -> PlainValidator:
    return PlainValidator(lambda value: _not_negative_price(parse_with_system(_text(value), kind)))


def _not_negative_price(price: Quantity) -> Quantity:
    if price.value < 0.0:
        raise QuantityError(f"'{price.text}' is negative: a price is zero or more")
    return price


def _positive(value: float) -> float:
    if value <= 0.0:
        raise QuantityError("must be greater than zero")
    return value


def _not_negative(value: float) -> float:
    if value < 0.0:
        raise QuantityError("must not be negative")
    return value


def _probability(value: Any) -> float:
    odds = parse(_text(value), Kind.PLAIN)
    if not 0.0 < odds < 1.0:
        raise QuantityError(f"'{value}' is no odds: they lie between 0 and 1, write 0.95 or '95 %'")
    return odds


def _assurance(value: Any) -> float:
    probability = _probability(value)
    if probability < 0.5:
        raise QuantityError(f"'{value}' would let limits out: a guard lies between 50 % and 100 %, as '95 %'")
    return probability


def _rate(value: Any) -> float:
    rate = parse(_text(value), Kind.PLAIN)
    if not 0.0 <= rate < 1.0:
        raise QuantityError(f"'{value}' is no yearly rate: it lies from 0 to 1, write 0.06 or '6 %'")
    return rate


def _mean_height(value: Any) -> float:
    roughness = parse_roughness(_text(value))
    if roughness.is_rms:
        raise QuantityError(f"'{value}' is an RMS height: state what is reached as Ra")
    return roughness.value


POSITIVE = AfterValidator(_positive)
NOT_NEGATIVE = AfterValidator(_not_negative)

Length = Annotated[float, POSITIVE, _value(Kind.LENGTH)]
LengthOrZero = Annotated[float, NOT_NEGATIVE, _value(Kind.LENGTH)]
Speed = Annotated[float, POSITIVE, _value(Kind.SPEED)]
Acceleration = Annotated[float, POSITIVE, _value(Kind.ACCELERATION)]
Jerk = Annotated[float, POSITIVE, _value(Kind.JERK)]
Angle = Annotated[float, NOT_NEGATIVE, _value(Kind.ANGLE)]
AngleRate = Annotated[float, NOT_NEGATIVE, _value(Kind.ANGLE_RATE)]
Duration = Annotated[float, POSITIVE, _value(Kind.TIME)]
DurationOrZero = Annotated[float, NOT_NEGATIVE, _value(Kind.TIME)]
Power = Annotated[float, POSITIVE, _value(Kind.POWER)]
Pressure = Annotated[float, POSITIVE, _value(Kind.PRESSURE)]
MassFlow = Annotated[float, POSITIVE, _value(Kind.MASS_FLOW)]
AreaRate = Annotated[float, POSITIVE, _value(Kind.AREA_RATE)]
Roughness = Annotated[float, BeforeValidator(_mean_height)]
Density = Annotated[float, POSITIVE, _value(Kind.DENSITY)]

Odds = Annotated[float, BeforeValidator(_probability)]
Rate = Annotated[float, BeforeValidator(_rate)]
Assurance = Annotated[float, BeforeValidator(_assurance)]

PriceEach = Annotated[Quantity, _quantity(Kind.MONEY)]
PricePerTime = Annotated[Quantity, _quantity(Kind.PRICE_PER_TIME)]
PricePerMass = Annotated[Quantity, _quantity(Kind.PRICE_PER_MASS)]
PricePerVolume = Annotated[Quantity, _quantity(Kind.PRICE_PER_VOLUME)]
PricePerEnergy = Annotated[Quantity, _quantity(Kind.PRICE_PER_ENERGY)]
