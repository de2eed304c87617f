"""``tailrace water ...`` and ``tailrace flow ...``: one command for each question."""

from __future__ import annotations

import json
from typing import Annotated

import typer

from tailrace.operations import dose_calculators, flow_calculators, water_calculators
from tailrace.operations.calculators import Answer
from tailrace.operations.calculators import convert as convert_units
from tailrace.site import UnitFamily

water_app = typer.Typer(help="Calculators on water.", no_args_is_help=True)
flow_app = typer.Typer(help="Calculators on flows of water and air.", no_args_is_help=True)

Units = Annotated[UnitFamily, typer.Option("--units", help="Units of the answer.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the answer as one JSON object.")]
Temperature = Annotated[
    str, typer.Option("--temperature", help="Water temperature, such as '80 degF'.")
]
Ph = Annotated[str, typer.Option("--ph", help="pH, such as 7.0 or 6.9-7.2.")]
Volume = Annotated[str, typer.Option("--volume", help="Water, such as '480 gal'.")]
Purity = Annotated[str, typer.Option("--purity", help="Share of the product, such as '95 %'.")]
METRIC = UnitFamily.METRIC


def _write(answer: Answer, units: UnitFamily, as_json: bool) -> None:
    made = answer.as_object(units)
    if as_json:
        typer.echo(json.dumps(made, ensure_ascii=False, indent=2, allow_nan=False))
        return
    typer.echo(made["question"])
    for figure in made["answer"]:
        typer.echo(f"  {figure['name']}: {figure['text']}")
    for said in made["said"]:
        typer.echo(f"  {said}")
    typer.echo(f"How sure: {made['uncertainty']}")
    for source in made["sources"]:
        typer.echo(f"Rests on: {source['text']} ({source['obtained']})")
    for caution in made["cautions"]:
        typer.echo(f"Caution: {caution}")


@water_app.command("oxygen")
def oxygen(
    temperature: Temperature,
    reading: Annotated[
        str | None, typer.Option("--reading", help="Dissolved oxygen, such as '6 mg/L'.")
    ] = None,
    altitude: Annotated[
        str | None, typer.Option("--altitude", help="Such as '4600 ft'; else sea level.")
    ] = None,
    pressure: Annotated[
        str | None, typer.Option("--pressure", help="Air pressure at the site, such as '84 kPa'.")
    ] = None,
    salinity: Annotated[str, typer.Option("--salinity", help="Such as '2 ppt'.")] = "0 ppt",
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much oxygen the water holds when it is full, and the share measured."""
    answer = water_calculators.oxygen(
        temperature, reading=reading, altitude=altitude, pressure=pressure, salinity=salinity
    )
    _write(answer, units, as_json)


@water_app.command("ammonia")
def ammonia(
    total: Annotated[str, typer.Option("--total", help="Total ammonia, such as '2 ppm as N'.")],
    ph: Ph,
    temperature: Temperature,
    conductivity: Annotated[
        str | None, typer.Option("--conductivity", help="Such as '800 uS/cm'.")
    ] = None,
    fish: Annotated[
        str | None, typer.Option("--fish", help="Species, such as nile_tilapia.")
    ] = None,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much of the total ammonia is its toxic part, against the limits of a fish."""
    answer = water_calculators.ammonia(
        total, ph=ph, temperature=temperature, conductivity=conductivity, fish=fish
    )
    _write(answer, units, as_json)


@water_app.command("carbonate")
def carbonate(
    alkalinity: Annotated[
        str, typer.Option("--alkalinity", help="Such as '80 ppm as CaCO3' or '4 dKH'.")
    ],
    ph: Ph,
    temperature: Temperature,
    calcium: Annotated[str | None, typer.Option("--calcium", help="Such as '40 mg/L'.")] = None,
    magnesium: Annotated[
        str | None, typer.Option("--magnesium", help="Such as '10 mg/L'.")
    ] = None,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much carbon dioxide is in the water, and where pH goes in open air."""
    answer = water_calculators.carbonate(
        alkalinity, ph=ph, temperature=temperature, calcium=calcium, magnesium=magnesium
    )
    _write(answer, units, as_json)


@water_app.command("dose")
def dose(  # noqa: PLR0913  # a command's options are its screen
    product: Annotated[str, typer.Argument(metavar="PRODUCT", help="Formula, such as NaHCO3.")],
    *,
    volume: Volume,
    alkalinity: Annotated[str, typer.Option("--alkalinity", help="Now: '30 ppm as CaCO3'.")],
    wanted: Annotated[str, typer.Option("--to", help="Wanted: '80 ppm as CaCO3'.")],
    ph: Ph,
    temperature: Temperature,
    total_ammonia: Annotated[
        str,
        typer.Option("--total-ammonia", help="Such as '1 ppm as N'; rising pH turns it toxic."),
    ],
    purity: Purity = "100 %",
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much of a base or acid brings the alkalinity to a value, and in what steps."""
    loop = dose_calculators.LoopAsTyped(volume, alkalinity, ph, temperature, total_ammonia)
    answer = dose_calculators.dose(product, loop, wanted=wanted, purity=purity)
    _write(answer, units, as_json)


@water_app.command("mix")
def mix(  # noqa: PLR0913  # a command's options are its screen
    subject: Annotated[str, typer.Argument(metavar="WHAT", help="Such as nitrate.")],
    *,
    now: Annotated[str, typer.Option("--now", help="In the loop: '120 ppm as N'.")],
    new: Annotated[str, typer.Option("--new", help="In the new water: '5 ppm as N'.")],
    share: Annotated[str, typer.Option("--share", help="Changed each time: '20 %'.")],
    times: Annotated[int, typer.Option("--times", help="How many changes.")] = 1,
    target: Annotated[str | None, typer.Option("--target", help="Wanted: '60 ppm as N'.")] = None,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find where water changes bring a reading, and how many reach a target."""
    answer = water_calculators.mix(
        subject, now=now, new=new, share=share, times=times, target=target
    )
    _write(answer, units, as_json)


@water_app.command("salt")
def salt(
    nitrite: Annotated[str, typer.Option("--nitrite", help="Such as '1 ppm as N'.")],
    chloride: Annotated[str, typer.Option("--chloride", help="In the water: '20 ppm'.")],
    volume: Volume,
    ratio: Annotated[float, typer.Option("--ratio", help="Chloride for each nitrite.")] = 10.0,
    as_nitrogen: Annotated[
        bool, typer.Option("--as-nitrogen", help="Count nitrite as nitrogen in the ratio.")
    ] = False,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much salt shields the fish from nitrite."""
    answer = dose_calculators.salt(
        nitrite, chloride=chloride, volume=volume, ratio=ratio, counted_as_n=as_nitrogen
    )
    _write(answer, units, as_json)


@water_app.command("dechlorinate")
def dechlorinate(
    chlorine: Annotated[str, typer.Option("--chlorine", help="Total chlorine: '2 ppm'.")],
    volume: Volume,
    agent: Annotated[str, typer.Option("--agent", help="Name.")] = "sodium thiosulfate",
    purity: Purity = "100 %",
    chloramine: Annotated[
        bool, typer.Option("--chloramine", help="The chlorine is bound to ammonia.")
    ] = False,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much makes the chlorine of tap water harmless, and the ammonia it leaves."""
    answer = dose_calculators.dechlorinate(
        chlorine, volume=volume, agent=agent, purity=purity, chloramine=chloramine
    )
    _write(answer, units, as_json)


@water_app.command("convert")
def convert(
    quantity: Annotated[str, typer.Argument(metavar="QUANTITY", help="Such as '3 dKH'.")],
    unit: Annotated[str, typer.Argument(metavar="UNIT", help="Such as 'ppm as CaCO3'.")],
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Turn a quantity into another unit, or from one basis to another."""
    _write(convert_units(quantity, unit), units, as_json)


@flow_app.command("pipe")
def pipe(
    flow: Annotated[str, typer.Option("--flow", help="Such as '12 gal/min'.")],
    bore: Annotated[str, typer.Option("--bore", help="Inner diameter, such as '1.6 in'.")],
    length: Annotated[str, typer.Option("--length", help="Such as '30 ft'.")],
    fitting: Annotated[
        list[str] | None,
        typer.Option("--fitting", help="Such as elbow_90_standard:3; say it for each kind."),
    ] = None,
    temperature: Temperature = "20 degC",
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find how much head a pipe with its fittings takes, from clean to slimed."""
    answer = flow_calculators.pipe(
        flow, bore=bore, length=length, fittings=fitting or (), temperature=temperature
    )
    _write(answer, units, as_json)


@flow_app.command("pump")
def pump(
    point: Annotated[
        list[str],
        typer.Option("--point", help="Of its curve, '8 gal/min @ 6 ft'; one to three."),
    ],
    flow: Annotated[str, typer.Option("--flow", help="Asked about, such as '5 gal/min'.")],
    power: Annotated[
        str | None, typer.Option("--power", help="From the plug, such as '90 W'.")
    ] = None,
    temperature: Temperature = "20 degC",
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find what head a water pump gives at a flow, and what it uses in a day."""
    answer = flow_calculators.pump(point, flow=flow, power=power, temperature=temperature)
    _write(answer, units, as_json)


@flow_app.command("air")
def air(
    depth: Annotated[str, typer.Option("--depth", help="Water over the outlet: '30 in'.")],
    maximum: Annotated[
        str | None, typer.Option("--maximum", help="Pressure of the pump at no flow.")
    ] = None,
    free_flow: Annotated[
        str | None, typer.Option("--free-flow", help="Flow of the pump at no pressure.")
    ] = None,
    diffuser: Annotated[str, typer.Option("--diffuser", help="Pressure it takes.")] = "2-5 kPa",
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find what pressure air needs at a depth, and what the air pump then still gives."""
    answer = flow_calculators.air(depth, maximum=maximum, free_flow=free_flow, diffuser=diffuser)
    _write(answer, units, as_json)


@flow_app.command("rotameter")
def rotameter(
    reading: Annotated[str, typer.Option("--reading", help="Such as '0.15 SCFH'.")],
    pressure: Annotated[str, typer.Option("--pressure", help="In the tube, above the air.")],
    temperature: Annotated[
        str, typer.Option("--temperature", help="Of the gas, such as '75 degF'.")
    ] = "70 degF",
    altitude: Annotated[str, typer.Option("--altitude", help="Such as '4600 ft'.")] = "0 m",
    gravity: Annotated[float, typer.Option("--gravity", help="Gas over air; 1.105 oxygen.")] = 1.0,
    units: Units = METRIC,
    as_json: AsJson = False,
) -> None:
    """Find what a rotameter's reading stands for at another pressure, temperature or gas."""
    answer = flow_calculators.rotameter(
        reading, pressure=pressure, temperature=temperature, altitude=altitude, gravity=gravity
    )
    _write(answer, units, as_json)
