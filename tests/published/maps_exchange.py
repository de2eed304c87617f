"""Rows on water changes, continuous exchange and evaporation."""

from __future__ import annotations

from tailrace.water.exchange import (
    after_batch_exchange_g_m3,
    after_continuous_exchange_g_m3,
    after_evaporation_g_m3,
    batch_exchanges_needed,
    peak_with_batch_exchange_g_m3,
)
from tests.published.registry import Inputs, maps

_DAY_S = 86400.0


def _start_and_source(inputs: Inputs) -> tuple[float, float]:
    return inputs["C0"].to("g/m3"), inputs["C_source"].to("g/m3")


@maps(
    "concentration after repeated batch exchange",
    gives="g/m3",
    needs="C0 C_source fraction exchanges",
)
def _batch(inputs: Inputs) -> float:
    return after_batch_exchange_g_m3(
        *_start_and_source(inputs),
        inputs["fraction"].to("fraction"),
        inputs["exchanges"].to("-"),
    )


@maps(
    "concentration after continuous exchange",
    gives="g/m3",
    needs="C0 C_source flow volume time",
    optional="production",
)
def _continuous(inputs: Inputs) -> float:
    return after_continuous_exchange_g_m3(
        *_start_and_source(inputs),
        inputs["flow"].to("m3/s"),
        inputs["volume"].to("m3"),
        inputs["time"].to("s"),
        inputs["production"].to("g/s") if "production" in inputs else 0.0,
    )


@maps(
    "number of batch exchanges to reach a target",
    gives="as the row",
    needs="C0 C_source fraction target",
)
def _needed(inputs: Inputs) -> float:
    return batch_exchanges_needed(
        *_start_and_source(inputs), inputs["fraction"].to("fraction"), inputs["target"].to("g/m3")
    )


@maps(
    "steady peak concentration with daily batch exchange",
    gives="g/m3",
    needs="production fraction volume C_source",
)
def _peak(inputs: Inputs) -> float:
    fraction = inputs["fraction"]
    share = fraction.to("1/d") if "/d" in fraction.unit else fraction.to("fraction")
    return peak_with_batch_exchange_g_m3(
        inputs["C_source"].to("g/m3"),
        inputs["production"].to("g/s"),
        _DAY_S,
        share,
        inputs["volume"].to("m3"),
    )


@maps("salt build-up by evaporation", gives="g/m3", needs="C0 volume evaporation C_source time")
def _evaporation(inputs: Inputs) -> float:
    return after_evaporation_g_m3(
        *_start_and_source(inputs),
        inputs["evaporation"].to("m3/s"),
        inputs["volume"].to("m3"),
        inputs["time"].to("s"),
    )
