"""``tailrace water ...`` and ``tailrace flow ...``: one command for each question.

An option stands here once, whatever commands take it; `_asks` turns a function that answers into
a command and adds the two options that all of them have.
"""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable
from typing import Annotated, Any, TypeVar, get_type_hints

import typer
from typer import Argument, Option

from tailrace.operations import dose_calculators, flow_calculators, water_calculators
from tailrace.operations.calculators import Answer
from tailrace.operations.calculators import convert as convert_units
from tailrace.operations.sodium_calculators import SodiumAsTyped
from tailrace.site import UnitFamily

water_app = typer.Typer(help="Calculators on water.", no_args_is_help=True)
flow_app = typer.Typer(help="Calculators on flows of water and air.", no_args_is_help=True)
Ask = TypeVar("Ask", bound=Callable[..., Answer])
Maybe = str | None

Alkalinity = Annotated[str, Option(help="Now, such as '30 ppm as CaCO3' or '4 dKH'.")]
Altitude = Annotated[str, Option(help="Of the site, such as '4600 ft'.")]
Crop = Annotated[Maybe, Option(help="Such as lettuce: asks for the sodium after a year.")]
Each = Annotated[str, Option(help="For --crop: time between doses, such as '7 days'.")]
Flow = Annotated[str, Option(help="Such as '12 gal/min'.")]
NewSodium = Annotated[str, Option(help="For --crop: sodium in the new water, such as '10 ppm'.")]
Ph = Annotated[str, Option(help="pH, such as 7.0 or 6.9-7.2.")]
Purity = Annotated[str, Option(help="Share of the product, such as '95 %'.")]
Renewed = Annotated[str, Option(help="For --crop: water let out and replaced, '10 gal/day'.")]
Sodium = Annotated[str, Option(help="For --crop: sodium in the water now, such as '20 ppm'.")]
Temperature = Annotated[str, Option(help="Water temperature, such as '80 degF'.")]
Volume = Annotated[str, Option(help="Water, such as '480 gal'.")]
COMMON = {
    "units": Annotated[UnitFamily, Option("--units", help="Units of the answer.")],
    "as_json": Annotated[bool, Option("--json", help="Write the answer as one JSON object.")],
}
DEFAULTS = {"units": UnitFamily.METRIC, "as_json": False}


def _asks(app: typer.Typer) -> Callable[[Ask], Ask]:
    """Make a command, by its own name, of a function that answers."""

    def decorate(ask: Ask) -> Ask:
        def command(**given: Any) -> None:
            units, as_json = given.pop("units"), given.pop("as_json")
            _write(ask(**given), units, as_json)

        hints = get_type_hints(ask, include_extras=True) | COMMON
        own = {name: p.default for name, p in inspect.signature(ask).parameters.items()}
        kind = inspect.Parameter.KEYWORD_ONLY
        options = [
            inspect.Parameter(name, kind, default=default, annotation=hints[name])
            for name, default in (own | DEFAULTS).items()
        ]
        command.__doc__ = ask.__doc__
        command.__annotations__ = {option.name: option.annotation for option in options}
        command.__signature__ = inspect.Signature(options)  # type: ignore[attr-defined]  # typer reads it
        app.command(ask.__name__)(command)
        return ask

    return decorate


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


@_asks(water_app)
def oxygen(
    temperature: Temperature,
    reading: Annotated[Maybe, Option(help="Dissolved oxygen, such as '6 mg/L'.")] = None,
    altitude: Altitude = "0 m",
    pressure: Annotated[Maybe, Option(help="Air pressure at the site, such as '84 kPa'.")] = None,
    salinity: Annotated[str, Option(help="Such as '2 ppt'.")] = "0 ppt",
) -> Answer:
    """Find how much oxygen the water holds when it is full, and the share measured."""
    return water_calculators.oxygen(
        temperature, reading=reading, altitude=altitude, pressure=pressure, salinity=salinity
    )


@_asks(water_app)
def ammonia(
    total: Annotated[str, Option(help="Total ammonia, such as '2 ppm as N'.")],
    ph: Ph,
    temperature: Temperature,
    conductivity: Annotated[Maybe, Option(help="Such as '800 uS/cm'.")] = None,
    fish: Annotated[Maybe, Option(help="Species, such as nile_tilapia.")] = None,
) -> Answer:
    """Find how much of the total ammonia is its toxic part, against the limits of a fish."""
    return water_calculators.ammonia(
        total, ph=ph, temperature=temperature, conductivity=conductivity, fish=fish
    )


@_asks(water_app)
def carbonate(
    alkalinity: Alkalinity,
    ph: Ph,
    temperature: Temperature,
    calcium: Annotated[Maybe, Option(help="Such as '40 mg/L'.")] = None,
    magnesium: Annotated[Maybe, Option(help="Such as '10 mg/L'.")] = None,
) -> Answer:
    """Find how much carbon dioxide is in the water, and where pH goes in open air."""
    return water_calculators.carbonate(
        alkalinity, ph=ph, temperature=temperature, calcium=calcium, magnesium=magnesium
    )


@_asks(water_app)
def dose(  # noqa: PLR0913  # a command's options are its screen
    product: Annotated[str, Argument(metavar="PRODUCT", help="Formula, such as NaHCO3.")],
    *,
    volume: Volume,
    alkalinity: Alkalinity,
    to: Annotated[str, Option(help="Alkalinity wanted, such as '80 ppm as CaCO3'.")],
    ph: Ph,
    temperature: Temperature,
    total_ammonia: Annotated[str, Option(help="Such as '1 ppm as N'; rising pH turns it toxic.")],
    purity: Purity = "100 %",
    crop: Crop = None,
    each: Each = "7 days",
    sodium: Sodium = "0 mg/L",
    renewed: Renewed = "0 L/day",
    new_sodium: NewSodium = "0 mg/L",
) -> Answer:
    """Find how much of a base or acid brings the alkalinity to a value, and in what steps."""
    return dose_calculators.dose(
        product,
        dose_calculators.LoopAsTyped(volume, alkalinity, ph, temperature, total_ammonia),
        wanted=to,
        purity=purity,
        sodium=SodiumAsTyped(crop, each, sodium, renewed, new_sodium) if crop else None,
    )


@_asks(water_app)
def mix(
    what: Annotated[str, Argument(metavar="WHAT", help="Such as nitrate.")],
    *,
    now: Annotated[str, Option(help="In the loop: '120 ppm as N'.")],
    new: Annotated[str, Option(help="In the new water: '5 ppm as N'.")],
    share: Annotated[str, Option(help="Changed each time: '20 %'.")],
    times: Annotated[int, Option(help="How many changes.")] = 1,
    target: Annotated[Maybe, Option(help="Wanted: '60 ppm as N'.")] = None,
) -> Answer:
    """Find where water changes bring a reading, and how many reach a target."""
    return water_calculators.mix(what, now=now, new=new, share=share, times=times, target=target)


@_asks(water_app)
def salt(  # noqa: PLR0913  # a command's options are its screen
    *,
    nitrite: Annotated[str, Option(help="Such as '1 ppm as N'.")],
    chloride: Annotated[str, Option(help="In the water: '20 ppm'.")],
    volume: Volume,
    ratio: Annotated[float, Option(help="Chloride for each nitrite.")] = 10.0,
    as_nitrogen: Annotated[
        bool, Option("--as-nitrogen", help="Count nitrite as nitrogen in the ratio.")
    ] = False,
    crop: Crop = None,
    each: Each = "30 days",
    sodium: Sodium = "0 mg/L",
    renewed: Renewed = "0 L/day",
    new_sodium: NewSodium = "0 mg/L",
) -> Answer:
    """Find how much salt shields the fish from nitrite."""
    return dose_calculators.salt(
        nitrite,
        chloride=chloride,
        volume=volume,
        ratio=ratio,
        counted_as_n=as_nitrogen,
        sodium=SodiumAsTyped(crop, each, sodium, renewed, new_sodium) if crop else None,
    )


@_asks(water_app)
def dechlorinate(
    chlorine: Annotated[str, Option(help="Total chlorine: '2 ppm'.")],
    volume: Volume,
    agent: Annotated[str, Option(help="Name.")] = "sodium thiosulfate",
    purity: Purity = "100 %",
    chloramine: Annotated[
        bool, Option("--chloramine", help="The chlorine is bound to ammonia.")
    ] = False,
) -> Answer:
    """Find how much makes the chlorine of tap water harmless, and the ammonia it leaves."""
    return dose_calculators.dechlorinate(
        chlorine, volume=volume, agent=agent, purity=purity, chloramine=chloramine
    )


@_asks(water_app)
def convert(
    quantity: Annotated[str, Argument(metavar="QUANTITY", help="Such as '3 dKH'.")],
    unit: Annotated[str, Argument(metavar="UNIT", help="Such as 'ppm as CaCO3'.")],
) -> Answer:
    """Turn a quantity into another unit, or from one basis to another."""
    return convert_units(quantity, unit)


@_asks(flow_app)
def pipe(
    flow: Flow,
    bore: Annotated[str, Option(help="Inner diameter, such as '1.6 in'.")],
    length: Annotated[str, Option(help="Such as '30 ft'.")],
    fitting: Annotated[
        list[str] | None, Option(help="Such as elbow_90_standard:3; say it for each kind.")
    ] = None,
    temperature: Temperature = "20 degC",
) -> Answer:
    """Find how much head a pipe with its fittings takes, from clean to slimed."""
    return flow_calculators.pipe(
        flow, bore=bore, length=length, fittings=fitting or (), temperature=temperature
    )


@_asks(flow_app)
def pump(
    point: Annotated[list[str], Option(help="Of its curve, '8 gal/min @ 6 ft'; one to three.")],
    flow: Flow,
    power: Annotated[Maybe, Option(help="From the plug, such as '90 W'.")] = None,
    temperature: Temperature = "20 degC",
) -> Answer:
    """Find what head a water pump gives at a flow, and what it uses in a day."""
    return flow_calculators.pump(point, flow=flow, power=power, temperature=temperature)


@_asks(flow_app)
def air(
    depth: Annotated[str, Option(help="Water over the outlet: '30 in'.")],
    maximum: Annotated[Maybe, Option(help="Pressure of the pump at no flow.")] = None,
    free_flow: Annotated[Maybe, Option(help="Flow of the pump at no pressure.")] = None,
    diffuser: Annotated[str, Option(help="Pressure it takes.")] = "2-5 kPa",
) -> Answer:
    """Find what pressure air needs at a depth, and what the air pump then still gives."""
    return flow_calculators.air(depth, maximum=maximum, free_flow=free_flow, diffuser=diffuser)


@_asks(flow_app)
def rotameter(
    reading: Annotated[str, Option(help="Such as '0.15 SCFH'.")],
    pressure: Annotated[str, Option(help="In the tube, above the air.")],
    temperature: Annotated[str, Option(help="Of the gas, such as '75 degF'.")] = "70 degF",
    altitude: Altitude = "0 m",
    gravity: Annotated[float, Option(help="Gas over air; 1.105 oxygen.")] = 1.0,
) -> Answer:
    """Find what a rotameter's reading stands for at another pressure, temperature or gas."""
    return flow_calculators.rotameter(
        reading, pressure=pressure, temperature=temperature, altitude=altitude, gravity=gravity
    )
