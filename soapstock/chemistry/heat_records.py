"""What a shop's own lye solutions teach: how much heat its vessels lose, how fast they cool.

No published curve was found, so nothing is assumed: without records there is no answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from soapstock.chemistry.heat import lye_peak
from soapstock.chemistry.interval import Interval

LEAST_RISE_C = 5.0  # below it a reading says nothing about losses


@dataclass(frozen=True, slots=True, kw_only=True)
class PeakRecord:
    """One measured peak: masses, g, start and peak temperature, C.

    `ready_percent` is the NaOH in a ready lye that was diluted, %; None where lye was dissolved.
    """

    naoh_g: float
    water_g: float
    start_c: float
    peak_c: float
    ready_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LossFactor:
    """Share of the loss-free rise that this shop's solutions reach, and from how many peaks.

    `share` spans the smallest and largest seen, with their mean.
    """

    share: Interval
    count: int

    def peak_c(self, *, start_c: float, loss_free_peak_c: float) -> float:
        """Expected peak in this shop, C."""
        return start_c + self.share.nominal * (loss_free_peak_c - start_c)


def learn_losses(records: Sequence[PeakRecord]) -> LossFactor | None:
    """The loss factor of recorded peaks, or None without a usable record."""
    shares: list[float] = []
    for record in records:
        free = lye_peak(
            naoh_g=record.naoh_g,
            water_g=record.water_g,
            start_c=record.start_c,
            ready_percent=record.ready_percent,
        )
        if free is None or free.peak_c - record.start_c < LEAST_RISE_C:
            continue
        if record.peak_c <= record.start_c:
            continue
        shares.append((record.peak_c - record.start_c) / (free.peak_c - record.start_c))
    if not shares:
        return None
    mean = min(max(sum(shares) / len(shares), min(shares)), max(shares))  # rounding aside
    return LossFactor(
        share=Interval(low=min(shares), nominal=mean, high=max(shares)), count=len(shares)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingRecord:
    """A solution seen at two temperatures, C, some minutes apart, in a room, C."""

    minutes: float
    from_c: float
    to_c: float
    room_c: float


def learn_cooling_per_minute(records: Sequence[CoolingRecord]) -> tuple[float, int] | None:
    """Mean rate of Newton's law of cooling, 1/min, and the count of records; None without any."""
    rates = [
        math.log((one.from_c - one.room_c) / (one.to_c - one.room_c)) / one.minutes
        for one in records
        if one.minutes > 0.0 and one.from_c > one.to_c > one.room_c
    ]
    return (sum(rates) / len(rates), len(rates)) if rates else None


def minutes_until_c(
    target_c: float, *, from_c: float, room_c: float, rate_per_minute: float
) -> float | None:
    """Minutes until a solution cools to the target, or None if the room is too warm for it."""
    if not from_c > target_c > room_c:
        return 0.0 if from_c <= target_c else None
    return math.log((from_c - room_c) / (target_c - room_c)) / rate_per_minute
