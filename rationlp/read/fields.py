"""The kinds of values that the keys of farm.toml hold, with their ranges."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import ConfigDict, Field

from rationlp.farm.penalties import MOST_MONEY

PLAIN = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]*$"
"""Text without control signs and signs that turn the direction of what follows."""
Name = Annotated[str, Field(min_length=1, max_length=120, pattern=PLAIN)]
Id = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[A-Za-z0-9_\-]+$")]
Price = Annotated[float, Field(ge=0.0, le=MOST_MONEY, allow_inf_nan=False)]
Tonnes = Annotated[float, Field(ge=0.0, le=1_000_000.0, allow_inf_nan=False)]
Kg = Annotated[float, Field(ge=0.0, le=1000.0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0.0, le=1.0, allow_inf_nan=False)]
Number = Annotated[float, Field(allow_inf_nan=False)]
FIRST_DAY, LAST_DAY = date(1950, 1, 1), date(2200, 12, 31)
"""The dates a farm may have: weeks counted from one of them stay in the calendar."""
Day = Annotated[date, Field(ge=FIRST_DAY, le=LAST_DAY)]


TABLE = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)
"""Every key of a table known; a model inside another is built once, when first used."""
